-- a load into a pass that its session does not have
-- severity: error
WITH lost AS (
    SELECT row, session, pass FROM load_links ANTI JOIN passes USING (session, pass)
)
SELECT 'loads' AS log, l.row, 'pass' AS "column", l.pass::VARCHAR AS value,
    'session ' || l.session || ' has no pass ' || l.pass AS message,
    'correct the number, or add the pass to passes.csv' AS fix
FROM lost AS l WHERE l.session IN (SELECT session FROM passes)
