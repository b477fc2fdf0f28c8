-- one row per kind of candle, place and month of sales up to today: how many, and the money that came in
SELECT a.candle, a.place, strftime(a.date, '%Y-%m') AS month, count(DISTINCT a.date)::BIGINT AS days, sum(a.count)::BIGINT AS count,
    sum(a.count * coalesce(a.price, c.price, 0)::DECIMAL(28, 6))::DOUBLE AS income,
    coalesce(sum(a.count) FILTER (coalesce(a.price, c.price) IS NULL), 0)::BIGINT AS unpriced
FROM sales AS a JOIN candles AS c USING (candle) CROSS JOIN settings AS s
WHERE a.date <= s.today
GROUP BY a.candle, a.place, month, c.row
ORDER BY c.row, a.place NULLS LAST, month
