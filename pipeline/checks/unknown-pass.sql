-- a load into a pass that its session does not have
-- severity: error
SELECT 'loads' AS log, l.row, 'pass' AS "column", l.pass::VARCHAR AS value,
    'session ' || l.session || ' has no pass ' || l.pass AS message,
    'correct the number, or add the pass to passes.csv' AS fix
FROM load_links AS l
WHERE EXISTS (SELECT 1 FROM passes AS p WHERE p.session = l.session)
    AND NOT EXISTS (SELECT 1 FROM passes AS p WHERE p.session = l.session AND p.pass = l.pass)
