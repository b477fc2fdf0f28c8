-- a block whose purity figures lie outside the published range
-- severity: note
-- message: {measured} is outside the published range ({low} to {high}: {source})
-- message_sum: acid and ester value together, {measured}, are outside the published range of the saponification value ({low} to {high}: {source})
-- message_heat: {melting_c} is outside the published range for a melting point ({low_c} to {high_c}: {source})
-- fix: genuine wax can miss a limit: measure again before you think ill of it
-- value: measured
-- example: blocks: B1,2025-06-03,385,S1,,, -> B1,2025-06-03,385,S1,,,26
SELECT 'blocks' AS log, p.row, if(p.property = 'saponification_value', 'ester_value', p.property) AS "column", p.value AS measured,
    p.low, p.high, p.source, p.value AS melting_c, p.low AS low_c, p.high AS high_c,
    CASE p.property WHEN 'melting_point' THEN 'heat' WHEN 'saponification_value' THEN 'sum' END AS variant
FROM block_purity AS p, cautions AS f
WHERE p.outside AND f.caution = 'fire limit'
    AND (p.property <> 'melting_point' OR p.value BETWEEN 50 AND f.high)  -- a melting point far off is a slip of its own rule
