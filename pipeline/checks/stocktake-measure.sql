-- a candle weighed, or wax and comb counted, at a stocktake
-- severity: error
-- message: wax and comb are weighed, but only a count is given
-- message_candle: candles are counted, but only a mass is given
-- fix: write what it weighed under mass
-- fix_candle: write how many there are under count
-- value: item
-- example: stocktakes: 385, -> ,3
SELECT 'stocktakes' AS log, s.row, if(c.candle IS NULL, 'mass', 'count') AS "column", s.item,
    if(c.candle IS NULL, NULL, 'candle') AS variant
FROM stocktakes AS s
LEFT JOIN (SELECT DISTINCT candle FROM candles) AS c ON s.item IN (c.candle, 'candle ' || c.candle)
WHERE (c.candle IS NULL AND s.mass_g IS NULL AND s.count IS NOT NULL AND (s.item IS NULL OR EXISTS (FROM candles)))
    OR (c.candle IS NOT NULL AND s.count IS NULL AND s.mass_g IS NOT NULL)
