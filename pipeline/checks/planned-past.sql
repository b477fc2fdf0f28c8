-- a planned batch whose day has passed
-- severity: note
SELECT 'batches' AS log, b.row, 'date' AS "column", b.date::VARCHAR AS value,
    'batch ' || b.batch || ' was planned for ' || b.date || ', ' || (s.today - b.date) || if(s.today - b.date = 1, ' day', ' days')
        || ' ago: it counts as due today' AS message,
    'set its status to poured or dropped, or give it a new date' AS fix
FROM batches AS b, settings AS s WHERE b.status = 'planned' AND b.date < s.today
