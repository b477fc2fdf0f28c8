-- a stocktake of something that no log names, or that several do
-- severity: error
-- message: no block, harvest or candle is named {item}
-- message_several: {item} could be {meanings}
-- fix: correct the name
-- fix_several: name the log first, as in {first}
-- value: item
-- example: stocktakes: B1 -> B9
WITH untold AS (
    SELECT s.row, s.item, s.mass_g FROM stocktakes AS s JOIN stocktake_items AS t USING (row) WHERE t.item_kind IS NULL
),
ids AS (
    SELECT DISTINCT block AS id, 'block' AS kind FROM blocks WHERE block IN (SELECT item FROM untold)
    UNION ALL SELECT DISTINCT harvest, 'harvest' FROM harvests WHERE harvest IN (SELECT item FROM untold)
    UNION ALL SELECT DISTINCT candle, 'candle' FROM candles WHERE candle IN (SELECT item FROM untold)
)
SELECT 'stocktakes' AS log, s.row, 'item' AS "column", s.item, if(count(i.id) = 0, NULL, 'several') AS variant,
    string_agg(i.kind || ' ' || i.id, ' or ' ORDER BY i.kind) AS meanings, min(i.kind || ' ' || i.id) AS first
FROM untold AS s LEFT JOIN ids AS i ON i.id = s.item
WHERE i.id IS NOT NULL OR if(s.mass_g IS NULL, EXISTS (FROM candles), EXISTS (FROM blocks) AND EXISTS (FROM harvests))
GROUP BY s.row, s.item
