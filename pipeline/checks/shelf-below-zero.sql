-- more wax off the shelf than there was
-- severity: warning
-- message: the shelf stood {under_g} below zero on {date}: more was taken than there was
-- fix: log the wax that is missing (a block, or supplier "before this book"), or count the shelf in stocktakes.csv
-- value: least_g
-- grows: under_g
-- without_rows: loads, pours and counts take wax off the shelf too
-- example: draws: B2,50,candles,P1 -> B2,900,sold,
SELECT 'draws' AS log, NULL::INTEGER AS row, NULL::VARCHAR AS "column", min(low_g) AS least_g, -least_g AS under_g,
    arg_min(date, (low_g, date)) AS date
FROM (SELECT date, least(low_g, total_g) AS low_g FROM shelf_days) HAVING least_g < 0
