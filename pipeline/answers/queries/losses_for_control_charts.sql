-- one row per kind of weighed step: the days of its steps, the rows of their first passes, their losses and how far the scale
-- leaves each open (standard uncertainty), all in one order; nan where a loss is not known
SELECT s.stage, s.method, if(s.stage = 'first', c.comb, NULL) AS comb,
    list(s.date) AS dates, list(s.row) AS rows, list(coalesce(s.loss, 'nan')) AS losses,
    list(coalesce(p.step_g * sqrt((1 + (1 - s.loss) ** 2) / 12) / nullif(s.in_g, 0)::DOUBLE, 'nan')) AS us
FROM pass_steps AS s LEFT JOIN session_wax AS c USING (session) JOIN scales AS p ON p.log = 'passes'
GROUP BY ALL ORDER BY s.stage, s.method, comb NULLS LAST
