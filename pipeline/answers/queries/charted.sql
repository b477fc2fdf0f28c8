-- one row per kind of weighed step: the days of its steps, the rows of their first passes and their losses, all three in one
-- order; nan where a loss is not known
SELECT s.stage, s.method, if(s.stage = 'first', c.comb, NULL) AS comb,
    list(s.date) AS dates, list(s.row) AS rows, list(coalesce(s.loss, 'nan')) AS losses
FROM pass_steps AS s LEFT JOIN session_combs AS c USING (session)
GROUP BY ALL ORDER BY s.stage, s.method, comb NULLS LAST
