-- candles on the shelf, and what each kind brought in the latest season with sales
SELECT coalesce(c.candle, i.candle) AS candle, c.count AS on_shelf, i.count AS sold, i.income
FROM candle_stock AS c
FULL JOIN (SELECT * FROM income WHERE season = (SELECT max(season) FROM income)) AS i ON i.candle = c.candle
ORDER BY i.income DESC NULLS LAST, candle
