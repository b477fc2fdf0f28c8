-- a stocktake of something that no log names, or that several do
-- severity: error
-- message: no block, harvest or candle is named {item}
-- message_several: {item} could be {meanings}
-- fix: correct the name
-- fix_several: name the log first, as in {first}
-- value: item
-- example: stocktakes: B1 -> B9
WITH untold AS (
    SELECT s.row, s.item, s.mass_g, substr(s.item, strpos(s.item, ' ') + 1) AS rest
    FROM stocktakes AS s JOIN stocktake_items AS t USING (row) WHERE t.item_kind IS NULL
),
told AS (SELECT item AS id FROM untold UNION SELECT rest FROM untold),
ids AS (
    SELECT DISTINCT block AS id, 'block' AS kind FROM blocks WHERE block IN (FROM told)
    UNION ALL SELECT DISTINCT harvest, 'harvest' FROM harvests WHERE harvest IN (FROM told)
    UNION ALL SELECT DISTINCT candle, 'candle' FROM candles WHERE candle IN (FROM told)
)
SELECT 'stocktakes' AS log, s.row, 'item' AS "column", s.item, if(count(i.id) = 0, NULL, 'several') AS variant,
    string_agg(i.kind || ' ' || i.id, ' or ' ORDER BY i.kind) AS meanings, min(i.kind || ' ' || i.id) AS first
FROM untold AS s LEFT JOIN ids AS i ON i.id = s.item
WHERE (i.id IS NOT NULL OR if(s.mass_g IS NULL, EXISTS (FROM candles), EXISTS (FROM blocks) AND EXISTS (FROM harvests)))
    AND NOT EXISTS (FROM ids AS p WHERE p.kind || ' ' || p.id = s.item)
GROUP BY s.row, s.item
