-- one row per count of wax, of a block or of the whole shelf: what was counted and what the book had
-- row: the count's row in stocktakes
-- block: the block; missing for the whole shelf
-- counted_g: what was found, g
-- change_g: found less what the book had, g
WITH shelf_counts AS (
    SELECT row, mass_g, row_number() OVER (ORDER BY date, row) AS nth FROM stocktake_items, settings
    WHERE item_kind = 'shelf' AND mass_g IS NOT NULL AND date <= on_date
),
shelf_changes AS (
    SELECT mass_g, row_number() OVER (ORDER BY place) AS nth FROM shelf_moves WHERE kind = 'stocktake' AND block IS NULL
)
SELECT c.row, NULL AS block, c.mass_g AS counted_g, m.mass_g AS change_g
FROM shelf_counts AS c JOIN shelf_changes AS m USING (nth)
UNION ALL
SELECT t.row, t.item, t.mass_g, coalesce(m.mass_g, 0)
FROM stocktake_items AS t LEFT JOIN block_moves AS m ON m.kind = 'stocktake' AND m.row = t.row AND m.block = t.item
WHERE t.item_kind = 'block' AND t.mass_g IS NOT NULL
ORDER BY row
