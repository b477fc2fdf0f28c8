-- more wax off the shelf than there was
-- severity: warning
SELECT 'draws' AS log, NULL::INTEGER AS row, NULL::VARCHAR AS "column", shown(min(least_g)) AS value,
    'the shelf stood at ' || shown(min(least_g)) || ' on ' || arg_min(date, (least_g, date)) || ': more was taken than there was' AS message,
    'log the wax that is missing (a block, or supplier "before this book"), or count the shelf in stocktakes.csv' AS fix
FROM (SELECT date, least(low_g, total_g) AS least_g FROM shelf_days) HAVING min(least_g) < 0
