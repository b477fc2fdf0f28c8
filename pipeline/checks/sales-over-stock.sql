-- more candles sold than were poured
-- severity: warning
SELECT 'sales' AS log, NULL::INTEGER AS row, 'count' AS "column", count::VARCHAR AS value,
    'of ' || candle || ' ' || -count || ' more were sold than poured' AS message,
    'add the pour to batches.csv, or count the candles in stocktakes.csv' AS fix
FROM candle_stock WHERE count < 0
