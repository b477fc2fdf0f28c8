-- a block whose purity figures lie outside a published range
-- severity: note
WITH measured AS (
    SELECT row, block, 'melting_point' AS "column", melting_point_c AS value, 61.0 AS low, 66.0 AS high, '°C' AS unit FROM blocks
    UNION ALL SELECT row, block, 'acid_value', acid_value, 17.0, 24.0, 'mg KOH/g' FROM blocks
    UNION ALL SELECT row, block, 'ester_value', ester_value, 70.0, 80.0, 'mg KOH/g' FROM blocks
)
SELECT 'blocks' AS log, row, "column", value::VARCHAR AS value,
    printf('%.4g %s is outside the range of the European Pharmacopoeia for beeswax (%.4g to %.4g)', value, unit, low, high) AS message,
    'genuine wax can miss a limit: measure again before you think ill of it' AS fix
FROM measured WHERE (value < low OR value > high) AND ("column" <> 'melting_point' OR value BETWEEN 50 AND 121)
