-- one row per thing of the book that can be traced by one of the names $1 and $2 (missing: by any); a hive by its last part, too
SELECT kind, name FROM (
    SELECT 'harvest' AS kind, harvest AS name FROM harvests
    UNION ALL SELECT 'block', block FROM blocks
    UNION ALL SELECT DISTINCT 'session', session FROM passes
    UNION ALL SELECT 'batch', batch FROM batches
    UNION ALL SELECT DISTINCT 'hive', concat_ws('/', apiary, hive) FROM harvest_hives WHERE hive IS NOT NULL
    UNION ALL SELECT DISTINCT 'apiary', apiary FROM harvests WHERE apiary IS NOT NULL
)
WHERE $1 IS NULL OR name = $1 OR name = $2 OR kind = 'hive' AND string_split(name, '/')[-1] = $2
ORDER BY kind, name
