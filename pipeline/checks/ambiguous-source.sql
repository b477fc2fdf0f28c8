-- a load whose source is an id that several logs carry
-- severity: error
-- message: {named} could be {meanings}
-- fix: name the log first, as in {first}
-- value: named
-- example: blocks: B2, -> H1,
WITH unclear AS (
    SELECT row, named FROM load_source_kinds WHERE matches > 1
),
ids AS (
    SELECT DISTINCT harvest AS id, 'harvest' AS kind FROM harvests WHERE harvest IN (SELECT named FROM unclear)
    UNION ALL SELECT DISTINCT block, 'block' FROM blocks WHERE block IN (SELECT named FROM unclear)
    UNION ALL SELECT DISTINCT session, 'session' FROM passes WHERE session IN (SELECT named FROM unclear)
)
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named,
    string_agg(i.kind || ' ' || i.id, ' or ' ORDER BY i.kind) AS meanings, min(i.kind || ' ' || i.id) AS first
FROM unclear AS l JOIN ids AS i ON i.id = l.named
GROUP BY l.row, l.named
