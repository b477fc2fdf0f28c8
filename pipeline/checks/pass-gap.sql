-- a gap in the numbers of a session's passes
-- severity: warning
SELECT 'passes' AS log, row, 'pass' AS "column", pass::VARCHAR AS value,
    'pass ' || pass || ' of session ' || session || if(before = 0, ' comes first', ' follows pass ' || before)
        || ': ' || (pass - before - 1) || if(pass - before = 2, ' number is', ' numbers are') || ' missing' AS message,
    'add the pass that is missing, or number the passes 1, 2, 3' AS fix
FROM (SELECT *, coalesce(lag(pass) OVER (PARTITION BY session ORDER BY pass), 0) AS before FROM passes)
WHERE pass > before + 1
