-- loads whose source may stand in a log that is missing or empty
-- severity: note
-- message: {loads:load names a source|loads name sources} that no log holds, and {files} is missing or empty: what kind of comb or wax it was is not known
-- fix: add the log where you want yields by comb
-- example: harvests = harvest,date,comb,mass_g
WITH missing AS (
    SELECT 'harvests.csv' AS file WHERE NOT EXISTS (FROM harvests)
    UNION ALL SELECT 'blocks.csv' WHERE NOT EXISTS (FROM blocks)
    UNION ALL SELECT 'passes.csv' WHERE NOT EXISTS (FROM passes)
)
SELECT 'loads' AS log, NULL::INTEGER AS row, 'source' AS "column", n AS loads, files
FROM (SELECT count(*) AS n FROM load_source_kinds WHERE source IS NULL AND matches = 0
        OR source_kind = 'harvest' AND NOT EXISTS (FROM harvests)),
    (SELECT string_agg(file, ', ' ORDER BY file) AS files FROM missing)
WHERE n > 0 AND files IS NOT NULL
