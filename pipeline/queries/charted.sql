-- one row per weighed step in the order of the control charts, numbered from 0; era: how many changes were marked before it
SELECT row_number() OVER () - 1 AS place, * FROM (
    SELECT s.stage, s.method, if(s.stage = 'first', c.comb, NULL) AS comb,
        (SELECT count(*) FROM changes AS m WHERE m.date <= s.date) AS era, s.session, s.pass, s.date, s.loss
    FROM pass_steps AS s LEFT JOIN session_combs AS c USING (session)
    JOIN passes AS p ON p.session = s.session AND p.pass = s.pass
    ORDER BY s.stage, s.method, comb NULLS LAST, era, s.date, p.row)
