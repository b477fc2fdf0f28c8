-- a load into a pass that its session does not have
-- severity: error
-- message: session {session} has no pass {pass}
-- fix: correct the number, or add the pass to passes.csv
-- value: pass
-- example: loads: 1000, -> 1000,3
WITH lost AS (
    SELECT row, session, pass FROM load_source_kinds ANTI JOIN passes USING (session, pass)
)
SELECT 'loads' AS log, l.row, 'pass' AS "column", l.session, l.pass
FROM lost AS l WHERE l.session IN (SELECT session FROM passes)
