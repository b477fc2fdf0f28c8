-- more candles sold than were poured
-- severity: warning
-- message: sold {over:candle|candles} of {candle} more than were on the shelf
-- fix: add the pour to batches.csv, or count the candles in stocktakes.csv
-- value: over
-- subject: candle
-- grows: over
-- example: sales: jar,1 -> jar,4
SELECT 'sales' AS log, NULL::INTEGER AS row, 'count' AS "column", candle, -count AS over FROM candle_stock WHERE count < 0
