-- one row per kind of candle that is on the shelf on the date shown
-- with: candle
-- count: good candles poured, less sold, as last counted
WITH counted AS (
    SELECT t.item AS candle, max_by(struct_pack(date := t.date, count := t.count), (t.date, t.row)) AS last
    FROM stocktake_items AS t JOIN settings AS s ON t.date <= s.on_date
    WHERE t.item_kind = 'candle' AND t.count IS NOT NULL
    GROUP BY t.item
),
moves AS (
    SELECT candle, date, coalesce(good, count) AS count FROM batches WHERE status = 'poured'
    UNION ALL SELECT candle, date, -count FROM sales
),
since AS (  -- a stocktake comes last on its day
    SELECT m.candle, sum(m.count) AS count
    FROM moves AS m JOIN settings AS s ON m.date <= s.on_date LEFT JOIN counted AS c USING (candle)
    WHERE c.candle IS NULL OR m.date > c.last.date
    GROUP BY m.candle
)
SELECT candle, (coalesce(s.count, 0) + coalesce(c.last.count, 0))::BIGINT AS count
FROM since AS s FULL JOIN counted AS c USING (candle)
WHERE coalesce(s.count, 0) + coalesce(c.last.count, 0) <> 0
ORDER BY candle
