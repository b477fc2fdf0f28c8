-- one row per kind of candle that is on the shelf on the date shown
-- candle: the kind
-- count: good candles poured, less sold, as last counted
WITH moves AS (
    SELECT candle, date, 0 AS turn, row, if(good IS NULL, count, good) AS count, NULL::INTEGER AS counted
    FROM batches WHERE status = 'poured'
    UNION ALL SELECT candle, date, 1, row, -count, NULL FROM sales
    UNION ALL SELECT item, date, 2, row, NULL, count FROM stocktake_items
    WHERE item_kind = 'candle' AND count IS NOT NULL
),
eras AS (
    SELECT m.candle, coalesce(m.counted, m.count) AS count, count(m.counted) OVER (PARTITION BY m.candle
        ORDER BY m.date, m.turn, m.row ROWS UNBOUNDED PRECEDING) AS era
    FROM moves AS m JOIN settings AS s ON m.date <= s.on_date
),
latest AS (
    SELECT *, max(era) OVER (PARTITION BY candle) AS last_era FROM eras
)
SELECT candle, sum(count)::BIGINT AS count
FROM latest
WHERE era = last_era
GROUP BY candle
HAVING sum(count) <> 0
ORDER BY candle
