-- one row per season and candle: what its sales brought
-- with: season, candle
-- count: candles sold
-- income: sum of count x price, in the book's currency; the candle's own price where a sale has none
-- unpriced: candles sold without any price, which count as 0
SELECT
    season_of(a.date) AS season,
    a.candle,
    sum(a.count)::BIGINT AS count,
    sum(a.count * coalesce(a.price, c.price, 0)::DECIMAL(28, 6))::DECIMAL(38, 6) AS income,
    coalesce(sum(a.count) FILTER (coalesce(a.price, c.price) IS NULL), 0)::BIGINT AS unpriced
FROM sales AS a
LEFT JOIN candles AS c ON c.candle = a.candle
GROUP BY season, a.candle
ORDER BY season, a.candle
