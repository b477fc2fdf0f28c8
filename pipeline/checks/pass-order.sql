-- a pass dated before the pass that it follows
-- severity: warning
SELECT 'passes' AS log, row, 'date' AS "column", date::VARCHAR AS value,
    'pass ' || pass || ' of session ' || session || ' is dated ' || (before_date - date)
        || if(before_date - date = 1, ' day', ' days') || ' before the pass that it follows (' || before_date || ')' AS message,
    'correct one of the two dates, or the numbers of the passes' AS fix
FROM pass_chain WHERE date < before_date
