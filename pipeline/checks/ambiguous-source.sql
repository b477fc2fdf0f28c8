-- a load whose source is an id that several logs carry
-- severity: error
WITH ids AS (
    SELECT DISTINCT harvest AS id, 'harvest' AS kind FROM harvests
    UNION ALL SELECT DISTINCT block, 'block' FROM blocks
    UNION ALL SELECT DISTINCT session, 'session' FROM passes
)
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named AS value,
    l.named || ' could be ' || string_agg(i.kind || ' ' || i.id, ' or ' ORDER BY i.kind) AS message,
    'name the log first, as in ' || min(i.kind || ' ' || i.id) AS fix
FROM load_links AS l JOIN ids AS i ON i.id = l.named
WHERE l.source_kind IS NULL AND l.matches > 1
GROUP BY l.row, l.named
