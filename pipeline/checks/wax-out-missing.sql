-- a session whose last pass has no wax_out
-- severity: error
SELECT 'passes' AS log, row, 'wax_out' AS "column", NULL::VARCHAR AS value,
    'pass ' || pass || ' is the last of session ' || session || ' and its wax was not weighed' AS message,
    'weigh what came out and write it under wax_out (combtally change BOOK pass ' || session || '/' || pass || ' wax_out=…)' AS fix
FROM (SELECT *, max(pass) OVER (PARTITION BY session) AS last_pass FROM passes)
WHERE pass = last_pass AND wax_out_g IS NULL AND NOT bad
