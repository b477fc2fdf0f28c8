-- a date that has not come yet, or lies before anybody now living kept bees
-- severity: warning
-- message: {date} is {ahead_days} after today ({today})
-- message_past: {date} is more than a hundred years ago
-- fix: correct the date
-- value: date
-- example: sales: 2025-08-01 -> 2026-11-04
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
SELECT log, d.row, 'date' AS "column", d.date, d.date - s.today AS ahead_days, s.today,
    d.date > s.today AS is_ahead, if(is_ahead, NULL, 'past') AS variant
FROM dated AS d, settings AS s WHERE is_ahead OR d.date < s.today - INTERVAL 100 YEAR
