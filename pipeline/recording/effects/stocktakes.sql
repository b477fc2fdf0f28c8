-- one row per count: what was counted and what the book had
-- row: the count's row in stocktakes
-- kind: shelf (all wax), block, harvest or candle
-- item: its name; missing for the whole shelf
-- counted: what was found, g or pieces
-- change: found less what the book had; missing where the book did not know
WITH shelf_counts AS (
    SELECT row, mass_g, row_number() OVER (ORDER BY date, row) AS nth FROM stocktake_items, settings
    WHERE item_kind = 'shelf' AND mass_g IS NOT NULL AND date <= on_date
),
shelf_changes AS (
    SELECT mass_g, row_number() OVER (ORDER BY place) AS nth FROM shelf_moves WHERE kind = 'stocktake' AND block IS NULL
),
comb AS (
    SELECT log, row, left_g, lag(left_g) OVER (PARTITION BY source ORDER BY date, turn, rank, coalesce(row, 0)) AS had_g
    FROM source_ledger WHERE source_kind = 'harvest'
),
candle_counts AS (
    SELECT row, item, date, count, lag(count) OVER (PARTITION BY item, date ORDER BY row) AS counted_before
    FROM stocktake_items WHERE item_kind = 'candle' AND count IS NOT NULL
)
SELECT c.row, 'shelf' AS kind, NULL AS item, c.mass_g::DOUBLE AS counted, m.mass_g::DOUBLE AS change
FROM shelf_counts AS c JOIN shelf_changes AS m USING (nth)
UNION ALL
SELECT t.row, 'block', t.item, t.mass_g, coalesce(m.mass_g, 0)
FROM stocktake_items AS t LEFT JOIN block_moves AS m ON m.kind = 'stocktake' AND m.row = t.row AND m.block = t.item
WHERE t.item_kind = 'block' AND t.mass_g IS NOT NULL
UNION ALL
SELECT t.row, 'harvest', t.item, t.mass_g, t.mass_g - c.had_g
FROM stocktake_items AS t JOIN comb AS c ON c.log = 'stocktakes' AND c.row = t.row
WHERE t.item_kind = 'harvest'
UNION ALL
SELECT c.row, 'candle', c.item, c.count, c.count - coalesce(c.counted_before, d.morning - d.sold)
FROM candle_counts AS c JOIN candle_days AS d ON d.candle = c.item AND d.date = c.date
ORDER BY row
