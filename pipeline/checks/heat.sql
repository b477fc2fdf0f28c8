-- wax hotter than the cautions say
-- severity: note
-- message: {heat_c} is {over_degrees_c} over {limit_c}, where the colour of wax begins to darken
-- fix: hold wax at {hold_c} to {hold_most_c} over water ({source}; {hold_source})
-- value: heat_c
-- grows: over_degrees_c
-- example: passes: 78 -> 95
WITH heats AS (
    SELECT 'passes' AS log, row, 'peak_temp' AS "column", peak_temp_c AS heat_c FROM passes
    UNION ALL SELECT 'batches', row, 'pour_temp', pour_temp_c FROM batches
    UNION ALL SELECT 'batches', row, 'scent_temp', scent_temp_c FROM batches
)
SELECT log, row, "column", heat_c, heat_c - d.high AS over_degrees_c, d.high AS limit_c, c.low AS hold_c, c.high AS hold_most_c,
    d.source, c.source AS hold_source
FROM heats, cautions AS d, cautions AS c, cautions AS f
WHERE d.caution = 'darkening' AND c.caution = 'clarify' AND f.caution = 'fire limit' AND heat_c > d.high AND heat_c <= f.high
