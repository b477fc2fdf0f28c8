-- a load whose source is an id that several logs carry
-- severity: error
WITH unclear AS (
    SELECT row, named FROM load_links WHERE matches > 1
),
ids AS (
    SELECT DISTINCT harvest AS id, 'harvest' AS kind FROM harvests WHERE harvest IN (SELECT named FROM unclear)
    UNION ALL SELECT DISTINCT block, 'block' FROM blocks WHERE block IN (SELECT named FROM unclear)
    UNION ALL SELECT DISTINCT session, 'session' FROM passes WHERE session IN (SELECT named FROM unclear)
)
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named AS value,
    l.named || ' could be ' || string_agg(i.kind || ' ' || i.id, ' or ' ORDER BY i.kind) AS message,
    'name the log first, as in ' || min(i.kind || ' ' || i.id) AS fix
FROM unclear AS l JOIN ids AS i ON i.id = l.named
GROUP BY l.row, l.named
