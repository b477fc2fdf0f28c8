-- one row per kind of candle and day on which it moved or anything was sold: its shelf through that day
-- with: candle, date
-- morning: on the shelf before the day's sales, what was poured that day included
-- sold: sold that day
-- evening: on the shelf after the sales and, last, a count
WITH moves AS (
    SELECT candle, date, coalesce(good, count) AS poured FROM batches WHERE status = 'poured'
    UNION ALL BY NAME SELECT candle, date, count AS sold FROM sales
    UNION ALL BY NAME
    SELECT item AS candle, date, count AS counted, row FROM stocktake_items WHERE item_kind = 'candle' AND count IS NOT NULL
    UNION ALL BY NAME SELECT c.candle, s.date FROM candles AS c CROSS JOIN (SELECT DISTINCT date FROM sales) AS s
),
days AS (
    SELECT candle, date, coalesce(sum(poured), 0) AS poured, coalesce(sum(sold), 0) AS sold, arg_max(counted, row) AS counted
    FROM moves GROUP BY candle, date
),
eras AS (  -- each count starts anew, from what was found
    SELECT *, coalesce(lag(counted) OVER w, 0) AS found,
        count(counted) OVER (w ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS era
    FROM days WINDOW w AS (PARTITION BY candle ORDER BY date)
),
levels AS (
    SELECT *, sum(found + poured - sold) OVER (PARTITION BY candle, era ORDER BY date) AS level FROM eras
)
SELECT candle, date, (level + sold)::BIGINT AS morning, sold::BIGINT AS sold, coalesce(counted, level)::BIGINT AS evening
FROM levels
ORDER BY candle, date
