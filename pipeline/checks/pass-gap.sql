-- a gap in the numbers of a session's passes
-- severity: warning
SELECT 'passes' AS log, row, 'pass' AS "column", pass::VARCHAR AS value,
    'pass ' || pass || ' of session ' || session || if(before IS NULL, ' comes first', ' follows pass ' || before)
        || ': ' || missing || if(missing = 1, ' number is', ' numbers are') || ' missing' AS message,
    'add the pass that is missing, or number the passes 1, 2, 3' AS fix
FROM (SELECT *, pass - coalesce(before, 0) - 1 AS missing FROM pass_chain) WHERE missing > 0
