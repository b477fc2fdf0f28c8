-- one row per poured batch of which candles may be left on the shelf, the latest first
-- candle, batch: what they are
-- count: good ones less those sold as of this batch
WITH sold AS (
    SELECT batch, sum(count) AS count FROM sales WHERE batch IS NOT NULL GROUP BY batch
)
SELECT b.candle, b.batch, (coalesce(b.good, b.count) - coalesce(s.count, 0))::BIGINT AS count
FROM batches AS b JOIN candle_stock AS c USING (candle) LEFT JOIN sold AS s USING (batch)
WHERE b.status = 'poured' AND c.count > 0 AND coalesce(b.good, b.count) > coalesce(s.count, 0)
ORDER BY b.candle, b.date DESC, b.row DESC
