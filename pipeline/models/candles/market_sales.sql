-- one row per market day, a date and place with sales, and kind of candle on offer there
-- with: candle, date
-- place: where; empty where none was logged
-- sold: sold there that day, 0 where it only stood there
-- sold_out: whether the last one went that day, so that more might have been sold
WITH markets AS (SELECT date, place, candle, sum(count) AS sold FROM sales GROUP BY date, place, candle),
places AS (SELECT DISTINCT date, place FROM markets)
SELECT d.candle, p.date, p.place, coalesce(m.sold, 0)::BIGINT AS sold,
    d.evening = 0 AND d.candle IN (SELECT candle FROM batches WHERE status = 'poured') AS sold_out
FROM places AS p
JOIN candle_days AS d USING (date)
LEFT JOIN markets AS m ON m.date = p.date AND m.candle = d.candle AND m.place IS NOT DISTINCT FROM p.place
WHERE d.morning > 0 OR m.sold IS NOT NULL
ORDER BY d.candle, p.date, p.place
