-- one row per row that hangs on a row already left out: its session, its source, its block, its recipe
-- log: the log of the row that hangs
-- row: its row there
WITH out AS (SELECT * FROM left_out),
melts AS (
    SELECT session FROM passes JOIN out USING (row) WHERE out.log = 'passes'
    UNION SELECT session FROM loads JOIN out USING (row) WHERE out.log = 'loads'
    UNION SELECT session FROM blocks JOIN out USING (row) WHERE out.log = 'blocks' AND session IS NOT NULL
),
sources AS (
    SELECT 'session' AS kind, session AS id FROM melts
    UNION ALL SELECT 'harvest', harvest FROM harvests JOIN out USING (row) WHERE out.log = 'harvests'
    UNION ALL SELECT 'block', block FROM blocks JOIN out USING (row) WHERE out.log = 'blocks'
),
recipes AS (SELECT blend FROM blends JOIN out USING (row) WHERE out.log = 'blends'),
kinds AS (SELECT candle FROM candles JOIN out USING (row) WHERE out.log = 'candles'),
pours AS (SELECT batch FROM batches JOIN out USING (row) WHERE out.log = 'batches'),
chart AS (SELECT wick FROM wicks JOIN out USING (row) WHERE out.log = 'wicks'),
hanging AS (
    SELECT 'passes' AS log, row FROM passes WHERE session IN (FROM melts)
    UNION ALL SELECT 'loads', row FROM loads WHERE session IN (FROM melts)
    UNION ALL SELECT 'blocks', row FROM blocks WHERE session IN (FROM melts)
    UNION ALL SELECT 'loads', row FROM load_source_kinds AS l
        WHERE EXISTS (FROM sources AS s WHERE s.kind = l.source_kind AND s.id = l.source)
    UNION ALL SELECT 'draws', row FROM draws WHERE block IN (SELECT id FROM sources WHERE kind = 'block')
    UNION ALL SELECT 'stocktakes', row FROM stocktakes WHERE item IN (
        SELECT id FROM sources WHERE kind <> 'session'
        UNION ALL SELECT kind || ' ' || id FROM sources WHERE kind <> 'session'
        UNION ALL SELECT candle FROM kinds UNION ALL SELECT 'candle ' || candle FROM kinds)
    UNION ALL SELECT 'blocks', row FROM blocks WHERE blend IN (FROM recipes) OR batch IN (FROM pours)
    UNION ALL SELECT 'candles', row FROM candles WHERE blend IN (FROM recipes) OR wick IN (FROM chart)
    UNION ALL SELECT 'batches', row FROM batches WHERE candle IN (FROM kinds)
    UNION ALL SELECT 'burns', row FROM burns WHERE candle IN (FROM kinds) OR wick IN (FROM chart)
    UNION ALL SELECT 'sales', row FROM sales WHERE candle IN (FROM kinds) OR batch IN (FROM pours)
    UNION ALL SELECT 'draws', row FROM draws WHERE batch IN (FROM pours)
)
SELECT DISTINCT log, row FROM hanging EXCEPT SELECT log, row FROM out
