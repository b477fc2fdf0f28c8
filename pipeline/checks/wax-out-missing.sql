-- a session whose last pass has no wax_out
-- severity: error
-- message: pass {pass} is the last of session {session} and its wax was not weighed
-- fix: weigh what came out and write it under wax_out
-- command: change pass {line} wax_out=
-- example: passes: 400,390 -> 400,
SELECT 'passes' AS log, row, 'wax_out' AS "column", pass, session
FROM (SELECT *, max(pass) OVER (PARTITION BY session) AS last_pass FROM passes)
WHERE pass = last_pass AND wax_out_g IS NULL AND NOT bad
