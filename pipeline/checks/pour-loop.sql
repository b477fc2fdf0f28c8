-- wax recovered from a pour that went into the same pour again
-- severity: warning
-- message: block {block} was recovered from pour {batch}, and its wax went into that pour
-- fix: correct the batch of the block or of the draw: wax cannot come from its own future
-- value: batch
-- example: blocks: blend,acid_value -> blend,acid_value,batch && blocks + B9,2025-07-02,50,,,,,P1 && draws + 2025-07-03,B9,50,candles,P1
WITH RECURSIVE steps AS (
    SELECT 'block' AS kind, block AS id, 'batch' AS to_kind, batch AS to_id FROM draws WHERE batch IS NOT NULL
    UNION ALL SELECT source_kind, source, 'session', session FROM load_source_kinds WHERE source_kind IN ('block', 'session')
    UNION ALL SELECT 'session', session, 'block', block FROM blocks WHERE session IS NOT NULL
    UNION ALL SELECT 'batch', batch, 'block', block FROM blocks WHERE batch IS NOT NULL
),
ahead AS (  -- few blocks are recovered from a pour: only what came of those is followed
    SELECT batch AS start, 'block' AS kind, block AS id FROM blocks WHERE batch IS NOT NULL
    UNION
    SELECT a.start, s.to_kind, s.to_id FROM ahead AS a JOIN steps AS s ON s.kind = a.kind AND s.id = a.id
)
SELECT 'blocks' AS log, b.row, 'batch' AS "column", b.block, b.batch
FROM blocks AS b SEMI JOIN ahead AS a ON a.start = b.batch AND a.kind = 'batch' AND a.id = b.batch
