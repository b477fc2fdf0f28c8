-- a pass dated before the pass that it follows
-- severity: warning
SELECT 'passes' AS log, row, 'date' AS "column", date::VARCHAR AS value,
    'pass ' || pass || ' of session ' || session || ' is dated ' || (before - date) || if(before - date = 1, ' day', ' days')
        || ' before the pass that it follows (' || before || ')' AS message,
    'correct one of the two dates, or the numbers of the passes' AS fix
FROM (SELECT *, lag(date) OVER (PARTITION BY session ORDER BY pass) AS before FROM passes) WHERE date < before
