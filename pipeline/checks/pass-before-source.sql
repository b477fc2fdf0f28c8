-- a pass dated before what was loaded into it
-- severity: warning
-- message: pass {pass} of session {session} is dated {date}, {early_days} before its source {source} ({born})
-- fix: correct one of the two dates
-- value: date
-- grows: early_days
-- example: passes: 2025-06-01 -> 2025-04-30
WITH early AS (
    SELECT l.session, l.pass, h.harvest AS source, h.date AS born
    FROM dated_loads AS l JOIN harvests AS h ON l.source_kind = 'harvest' AND h.harvest = l.source AND h.date > l.date
    UNION ALL SELECT l.session, l.pass, b.block, b.date
    FROM dated_loads AS l JOIN blocks AS b ON l.source_kind = 'block' AND b.block = l.source AND b.date > l.date
    UNION ALL SELECT l.session, l.pass, s.session, s.last_date
    FROM dated_loads AS l JOIN sessions AS s ON l.source_kind = 'session' AND s.session = l.source AND s.last_date > l.date
)
SELECT 'passes' AS log, p.row, 'date' AS "column", p.pass, p.session, p.date, max(e.born) - p.date AS early_days,
    arg_max(e.source, (e.born, e.source)) AS source, max(e.born) AS born
FROM early AS e JOIN passes AS p USING (session, pass)
GROUP BY p.row, p.pass, p.session, p.date
