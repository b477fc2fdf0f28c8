-- one row per session whose wax still waits on the date shown, by the rows dated up to it
-- with: session
-- date: the day its wax came off
-- mass_g: last wax_out less what went on, g
WITH waiting AS (
    SELECT w.session FROM session_wax AS w JOIN settings AS s ON w.first_cast IS NULL OR w.first_cast > s.on_date
),
upto AS (
    SELECT p.session, arg_max(p.date, p.pass) AS date, arg_max_null(p.wax_out_g, p.pass) AS wax_g
    FROM passes AS p SEMI JOIN waiting USING (session) JOIN settings AS s ON p.date <= s.on_date
    GROUP BY p.session
),
passed AS (
    SELECT l.source AS session, sum(l.mass_g) AS mass_g, bool_or(p.emptied) AS emptied
    FROM loaded_masses AS l JOIN loads AS p ON p.row = l.row JOIN settings AS s ON l.date <= s.on_date
    WHERE l.source_kind = 'session' AND l.part = 'wax'
    GROUP BY l.source
)
SELECT u.session, u.date, (u.wax_g - coalesce(p.mass_g, 0))::DECIMAL(18, 6) AS mass_g
FROM upto AS u
LEFT JOIN passed AS p USING (session)
JOIN scales AS c ON c.log = 'passes'
WHERE NOT coalesce(p.emptied, false) AND (u.wax_g - coalesce(p.mass_g, 0))::DOUBLE >= 2 * c.step_g
    AND u.wax_g > coalesce(p.mass_g, 0)
ORDER BY u.session
