-- one row per stocktake: what was counted
-- with: row, date
-- item_kind: shelf (all wax), block, harvest or candle; missing where the item cannot be told
-- item: the id of what was counted
-- mass_g: what was found, g
-- count: what was found, pieces
WITH named AS (
    SELECT DISTINCT unnest([item, substr(item, strpos(item, ' ') + 1)]) AS id FROM stocktakes WHERE item IS NOT NULL
),
ids AS (
    SELECT DISTINCT harvest AS id, 'harvest' AS kind FROM harvests WHERE harvest IN (FROM named)
    UNION ALL SELECT DISTINCT block, 'block' FROM blocks WHERE block IN (FROM named)
    UNION ALL SELECT DISTINCT candle, 'candle' FROM candles WHERE candle IN (FROM named)
),
exact AS (
    SELECT id, count(*) AS matches, min(kind) AS kind FROM ids GROUP BY id
)
SELECT
    s.row, s.date,
    CASE
        WHEN s.item IS NULL THEN 'shelf'
        WHEN e.matches = 1 THEN e.kind
        WHEN e.matches IS NULL THEN i.kind
    END AS item_kind,
    CASE WHEN e.matches = 1 THEN s.item WHEN e.matches IS NULL THEN i.id END AS item,
    s.mass_g, s.count
FROM stocktakes AS s
LEFT JOIN exact AS e ON e.id = s.item
LEFT JOIN ids AS i
    ON i.id = substr(s.item, strpos(s.item, ' ') + 1) AND i.kind = substr(s.item, 1, strpos(s.item, ' ') - 1)
