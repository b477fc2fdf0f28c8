-- a block whose purity figures lie outside every published range
-- severity: note
-- message: {measured} is outside the published range ({low} to {high}: {source})
-- message_heat: {melting_c} is outside the published range for a melting point ({low_c} to {high_c}: {source})
-- fix: genuine wax can miss a limit: measure again before you think ill of it
-- value: measured
-- example: blocks: B1,2025-06-03,385,S1,,, -> B1,2025-06-03,385,S1,,,26
WITH measured AS (
    SELECT row, 'melting_point' AS property, melting_point_c AS value FROM blocks
    UNION ALL SELECT row, 'acid_value', acid_value FROM blocks
    UNION ALL SELECT row, 'ester_value', ester_value FROM blocks
),
ranges AS (  -- the widest of the pharmacopoeia's, as a block does not say which kind of wax it is
    SELECT property, min(low) AS low, max(high) AS high, arg_max(source, high) AS source FROM purity
    WHERE wax <> 'any' GROUP BY property
)
SELECT 'blocks' AS log, m.row, m.property AS "column", m.value AS measured, r.low, r.high, r.source,
    if(m.property = 'melting_point', 'heat', NULL) AS variant, m.value AS melting_c, r.low AS low_c, r.high AS high_c
FROM measured AS m JOIN ranges AS r USING (property), cautions AS f
WHERE f.caution = 'fire limit' AND (m.value < r.low OR m.value > r.high)
    AND (m.property <> 'melting_point' OR m.value BETWEEN 50 AND f.high)
