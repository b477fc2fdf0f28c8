-- one row per kind of candle and market day up to today on which it was on offer, in the order of the candles
SELECT m.candle, m.date, m.place, m.sold, m.sold_out
FROM market_sales AS m JOIN candles AS c USING (candle) CROSS JOIN settings AS s
WHERE m.date <= s.today
ORDER BY c.row, m.place NULLS LAST, m.date
