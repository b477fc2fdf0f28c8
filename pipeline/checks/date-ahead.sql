-- a date that has not come yet, or lies before anybody now living kept bees
-- severity: warning
WITH dated AS (
    SELECT 'harvests' AS log, row, date FROM harvests
    UNION ALL SELECT 'passes', row, date FROM passes
    UNION ALL SELECT 'blocks', row, date FROM blocks
    UNION ALL SELECT 'draws', row, date FROM draws
    UNION ALL SELECT 'stocktakes', row, date FROM stocktakes
    UNION ALL SELECT 'batches', row, date FROM batches WHERE status = 'poured'
    UNION ALL SELECT 'burns', row, date FROM burns
    UNION ALL SELECT 'sales', row, date FROM sales
)
SELECT log, d.row, 'date' AS "column", d.date::VARCHAR AS value,
    if(d.date > s.today, d.date || ' is ' || (d.date - s.today) || if(d.date - s.today = 1, ' day', ' days') || ' after today (' || s.today || ')',
       d.date || ' is more than a hundred years ago') AS message,
    'correct the date' AS fix
FROM dated AS d, settings AS s WHERE d.date > s.today OR d.date < s.today - INTERVAL 100 YEAR
