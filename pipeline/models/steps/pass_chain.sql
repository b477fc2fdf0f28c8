-- one row per pass, in the order of sessions and passes, with the pass that it follows
-- kept: no
-- with: row, session, pass, date, method, filter
-- mass_in_g: what went in as weighed, g
-- wax_out_g: wax that came out, g
-- residue_g: its residue, g
-- before: number of the pass that it follows; missing for the first
-- before_date: the date of that pass
-- before_g: the wax of that pass, g
-- step: number of its step in the whole book: a first pass begins one, and a pass whose forerunner was weighed
WITH followed AS (  -- the rows come sorted, and a window without an order of its own takes them so
    SELECT row, session, pass, date, method, filter, mass_in_g, wax_out_g, residue_g,
        lag(session) OVER () IS NOT DISTINCT FROM session AS follows, if(follows, lag(pass) OVER (), NULL) AS before,
        if(follows, lag(date) OVER (), NULL) AS before_date, if(follows, lag(wax_out_g) OVER (), NULL) AS before_g
    FROM (FROM passes ORDER BY session, pass, row)
)
SELECT * EXCLUDE (follows),
    count(*) FILTER (NOT follows OR before_g IS NOT NULL) OVER (ROWS UNBOUNDED PRECEDING) AS step
FROM followed
