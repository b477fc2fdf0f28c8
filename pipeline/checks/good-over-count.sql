-- more candles came out right than were poured
-- severity: warning
SELECT 'batches' AS log, row, 'good' AS "column", good::VARCHAR AS value,
    good || ' good candles are ' || (good - count) || ' more than the ' || count || ' poured' AS message,
    'compare good with count' AS fix
FROM batches WHERE good > count
