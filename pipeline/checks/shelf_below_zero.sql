-- more wax off the shelf than there was
-- severity: warning
SELECT 'draws' AS log, NULL::INTEGER AS row, NULL::VARCHAR AS "column", shown(min(total_g)) AS value,
    'the shelf stood at ' || shown(min(total_g)) || ' on ' || arg_min(date, (total_g, date)) || ': more was taken than there was' AS message,
    'log the wax that is missing (a block, or supplier "before this book"), or count the shelf in stocktakes.csv' AS fix
FROM shelf_moves HAVING min(total_g) < 0
