-- more candles sold than were poured
-- severity: warning
-- message: that makes {sold} of {candle} sold, and {had} were on the shelf: {over} too many
-- message_counted: that makes {sold} of {candle} sold since the count of {counted}, and {had} were on the shelf: {over} too many
-- fix: add the pour to batches.csv, or count the candles in stocktakes.csv
-- value: over
-- subject: candle
-- grows: over
-- example: sales: jar,1 -> jar,4
WITH counted AS (
    SELECT item AS candle, max(date) AS date FROM stocktake_items, settings
    WHERE item_kind = 'candle' AND count IS NOT NULL AND date <= on_date GROUP BY item
),
sold AS (  -- a count comes last on its day
    SELECT s.candle, sum(s.count)::BIGINT AS sold, any_value(c.date) AS counted
    FROM sales AS s JOIN settings AS t ON s.date <= t.on_date LEFT JOIN counted AS c USING (candle)
    WHERE c.date IS NULL OR s.date > c.date GROUP BY s.candle
)
SELECT 'sales' AS log, NULL::INTEGER AS row, 'count' AS "column", k.candle, -k.count AS over, s.sold, k.count + s.sold AS had,
    s.counted, if(s.counted IS NULL, NULL, 'counted') AS variant
FROM candle_stock AS k JOIN sold AS s USING (candle) WHERE k.count < 0
