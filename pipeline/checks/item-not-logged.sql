-- stocktakes whose item may stand in a log that is missing or empty
-- severity: note
-- message: {items:stocktake names an item|stocktakes name items} that no log holds, and {files} is missing or empty
-- fix: add the log where you want the item followed
-- example: harvests = harvest,date,comb,mass_g && stocktakes: B1 -> B9
WITH missing AS (
    SELECT 'harvests.csv' AS file, true AS weighed WHERE NOT EXISTS (FROM harvests)
    UNION ALL SELECT 'blocks.csv', true WHERE NOT EXISTS (FROM blocks)
    UNION ALL SELECT 'candles.csv', false WHERE NOT EXISTS (FROM candles)
),
untold AS (
    SELECT row, mass_g IS NOT NULL AS weighed FROM stocktake_items WHERE item_kind IS NULL
)
SELECT 'stocktakes' AS log, NULL::INTEGER AS row, 'item' AS "column",
    count(DISTINCT u.row) AS items, string_agg(DISTINCT m.file, ', ' ORDER BY m.file) AS files
FROM untold AS u JOIN missing AS m USING (weighed)
HAVING count(*) > 0
