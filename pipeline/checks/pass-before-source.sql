-- a pass dated before what was loaded into it
-- severity: warning
WITH born AS (
    SELECT 'harvest' AS kind, harvest AS id, date FROM harvests
    UNION ALL SELECT 'block', block, date FROM blocks
    UNION ALL SELECT 'session', session, last_date FROM sessions
)
SELECT 'passes' AS log, p.row, 'date' AS "column", p.date::VARCHAR AS value,
    'pass ' || p.pass || ' of session ' || p.session || ' is dated ' || p.date || ', ' || (max(b.date) - p.date)
        || if(max(b.date) - p.date = 1, ' day', ' days') || ' before its source ' || arg_max(b.id, (b.date, b.id))
        || ' (' || max(b.date) || ')' AS message,
    'correct one of the two dates' AS fix
FROM load_links AS l
JOIN passes AS p USING (session, pass)
JOIN born AS b ON b.kind = l.source_kind AND b.id = l.source
WHERE b.date > p.date
GROUP BY p.row, p.pass, p.session, p.date
