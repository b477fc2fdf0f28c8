-- a block dated before the last pass that it was cast from
-- severity: warning
SELECT 'blocks' AS log, b.row, 'date' AS "column", b.date::VARCHAR AS value,
    'block ' || b.block || ' is dated ' || (s.last_date - b.date) || if(s.last_date - b.date = 1, ' day', ' days')
        || ' before the last pass of session ' || b.session || ' (' || s.last_date || ')' AS message,
    'correct one of the two dates' AS fix
FROM blocks AS b JOIN session_wax AS s USING (session) WHERE s.first_cast < s.last_date AND b.date < s.last_date
