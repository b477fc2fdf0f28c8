-- one row: how many counts of the whole shelf there are up to the date shown
SELECT count(*) AS n FROM stocktake_items AS t JOIN settings AS s ON t.date <= s.on_date
WHERE t.item_kind = 'shelf' AND t.mass_g IS NOT NULL
