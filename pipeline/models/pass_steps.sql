-- one row per weighed step: a pass, or a run of passes not weighed between under the name of the first
-- session: the session
-- pass: number of its first pass
-- date: the day its wax came off, of the last pass of the run
-- season: the session's season
-- method: method of its first pass
-- filter: filter of its first pass
-- stage: first (comb or slumgum melted), or refining
-- passes: how many passes the step holds
-- loaded_g: loaded over its passes, g
-- before_g: wax of the step before, g
-- in_g: mass in, g: mass_in of the first pass or what was loaded and the last wax, and later loads
-- wax_g: wax out, g
-- residue_g: residues weighed, g
-- unaccounted_g: in - wax - residue, g
-- handling_g: wax of the step before + loaded - in, g
-- loss: 1 - wax / in; missing where what went in was not weighed
-- in_weighed: whether mass_in was weighed
-- in_known: whether what went in is known, not estimated by frames
-- residue_weighed: whether every residue was weighed
WITH into_pass AS (
    SELECT session, pass, sum(flow_g)::DECIMAL(18, 6) AS loaded_g, bool_and(flow_g IS NOT NULL) AS estimable,
        bool_and(mass_g IS NOT NULL) AS known FROM load_sources GROUP BY session, pass
),
ordered AS (
    SELECT session, pass, date, method, filter, mass_in_g, wax_out_g, residue_g, coalesce(i.loaded_g, 0) AS loaded_g,
        coalesce(i.estimable, true) AS estimable, coalesce(i.known, true) AS known
    FROM passes LEFT JOIN into_pass AS i USING (session, pass)
    ORDER BY session, pass
),
followed AS (  -- a step begins at a pass whose forerunner was weighed
    SELECT *, if(lag(session) OVER () = session, lag(wax_out_g) OVER (), NULL) AS before_g,
        coalesce(lag(session) OVER () <> session, true) OR lag(wax_out_g) OVER () IS NOT NULL AS starts FROM ordered
),
numbered AS (
    SELECT *, count(*) FILTER (starts) OVER (ROWS UNBOUNDED PRECEDING) AS step FROM followed
),
steps AS (
    SELECT session, step, min(pass) AS pass, max(date) AS date, count(*) AS passes, arg_min(method, pass) AS method,
        arg_min_null(filter, pass) AS filter, if(bool_and(estimable), sum(loaded_g)::DECIMAL(18, 6), NULL) AS loaded_g,
        coalesce(arg_min_null(before_g, pass), 0) AS before_g,
        sum(if(starts, mass_in_g, NULL))::DECIMAL(18, 6) AS mass_in_g, sum(if(starts, 0, loaded_g))::DECIMAL(18, 6) AS later_g,
        bool_and(estimable OR (starts AND mass_in_g IS NOT NULL)) AS in_estimable,
        bool_and(known OR (starts AND mass_in_g IS NOT NULL)) AS in_known,
        max(wax_out_g) AS wax_g, coalesce(sum(residue_g), 0)::DECIMAL(18, 6) AS residue_g,
        bool_and(residue_g IS NOT NULL) AS residue_weighed
    FROM numbered GROUP BY session, step
),
entered AS (
    SELECT *, if(in_estimable, coalesce(mass_in_g + later_g, before_g + loaded_g), NULL)::DECIMAL(18, 6) AS in_g
    FROM steps
)
SELECT e.session, e.pass, e.date, s.season, e.method, e.filter,
    if(e.pass > 1 OR coalesce(l.wax_only, false), 'refining', 'first') AS stage, e.passes, e.loaded_g, e.before_g,
    e.in_g, e.wax_g, e.residue_g, (e.in_g - e.wax_g - e.residue_g)::DECIMAL(18, 6) AS unaccounted_g,
    (e.before_g + e.loaded_g - e.in_g)::DECIMAL(18, 6) AS handling_g,
    if(e.in_known, 1 - e.wax_g::DOUBLE / nullif(e.in_g, 0)::DOUBLE, NULL) AS loss,
    e.mass_in_g IS NOT NULL AS in_weighed, e.in_known, e.residue_weighed
FROM entered AS e JOIN sessions AS s USING (session) LEFT JOIN session_loads AS l USING (session)
ORDER BY e.session, e.pass
