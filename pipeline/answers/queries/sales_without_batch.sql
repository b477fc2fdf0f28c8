-- one row per sale of candles whose batch nobody wrote down, though one of the batches named may be meant
SELECT s.row, s.date, s.candle, s.count FROM sales AS s
WHERE s.batch IS NULL AND EXISTS (
    FROM batches AS b WHERE b.candle = s.candle AND b.status = 'poured' AND b.date <= s.date AND list_contains(?, b.batch))
ORDER BY s.row
