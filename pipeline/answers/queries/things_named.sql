-- one row per thing of the book that can be traced by a name
SELECT 'harvest' AS kind, harvest AS name FROM harvests
UNION ALL SELECT 'block', block FROM blocks
UNION ALL SELECT DISTINCT 'session', session FROM passes
UNION ALL SELECT 'batch', batch FROM batches
UNION ALL SELECT DISTINCT 'hive', concat_ws('/', apiary, hive) FROM harvest_hives WHERE hive IS NOT NULL
UNION ALL SELECT DISTINCT 'apiary', apiary FROM harvests WHERE apiary IS NOT NULL
ORDER BY kind, name
