-- one row per weighed step: a pass, or a run of passes not weighed between under the name of the first
-- with: session, pass
-- row: row of its first pass in passes
-- date: the day its wax came off, of the last pass of the run
-- with: season, method
-- filter: filter of its first pass
-- with: stage
-- passes: how many passes the step holds
-- loaded_g: loaded over its passes, g
-- before_g: wax of the step before, g
-- with: in_g, wax_g, residue_g, unaccounted_g, handling_g, loss
-- in_weighed: whether mass_in was weighed
-- in_known: whether what went in is known, not estimated by frames
-- counted: whether losses count it: what went in and what came out is known
-- residue_weighed: whether every residue was weighed
WITH into_pass AS (
    SELECT session, pass, sum(flow_g)::DECIMAL(18, 6) AS loaded_g, bool_and(flow_g IS NOT NULL) AS estimable,
        bool_and(mass_g IS NOT NULL) AS known FROM loaded_masses GROUP BY session, pass
),
fed AS (
    SELECT c.*, s.season, c.before IS NULL OR c.before_g IS NOT NULL AS starts, coalesce(i.loaded_g, 0) AS loaded_g,
        starts AND c.mass_in_g IS NOT NULL AS in_weighed, in_weighed OR coalesce(i.estimable, true) AS in_estimable,
        in_weighed OR coalesce(i.known, true) AS in_known, coalesce(i.estimable, true) AS estimable
    FROM pass_chain AS c JOIN sessions AS s USING (session) LEFT JOIN into_pass AS i USING (session, pass)
),
steps AS (  -- a pass whose forerunner and itself were weighed is a step
    SELECT session, pass, row, date, season, method, filter, 1 AS passes, if(estimable, loaded_g, NULL) AS loaded_g,
        0 AS later_g, coalesce(before_g, 0) AS before_g, mass_in_g, wax_out_g AS wax_g, residue_g,
        residue_g IS NOT NULL AS residue_weighed, in_weighed, in_estimable, in_known
    FROM fed WHERE starts AND wax_out_g IS NOT NULL
    UNION ALL BY NAME
    SELECT any_value(session) AS session, min(pass) AS pass, arg_min(row, pass) AS row, max(date) AS date,
        any_value(season) AS season, arg_min(method, pass) AS method, arg_min_null(filter, pass) AS filter,
        count(*) AS passes, if(bool_and(estimable), sum(loaded_g)::DECIMAL(18, 6), NULL) AS loaded_g,
        sum(if(starts, 0, loaded_g))::DECIMAL(18, 6) AS later_g, coalesce(any_value(before_g), 0) AS before_g,
        any_value(mass_in_g) FILTER (starts) AS mass_in_g, any_value(wax_out_g) AS wax_g, sum(residue_g)::DECIMAL(18, 6) AS residue_g,
        bool_and(residue_g IS NOT NULL) AS residue_weighed, bool_or(in_weighed) AS in_weighed,
        bool_and(in_estimable) AS in_estimable, bool_and(in_known) AS in_known
    FROM fed WHERE NOT starts OR wax_out_g IS NULL GROUP BY step
),
entered AS (
    SELECT * REPLACE (coalesce(residue_g, 0) AS residue_g),
        if(in_estimable, coalesce(mass_in_g + later_g, before_g + loaded_g), NULL)::DECIMAL(18, 6) AS in_g
    FROM steps
)
SELECT e.session, e.pass, e.row, e.date, e.season, e.method, e.filter,
    if(e.pass > 1 OR l.session IS NOT NULL, 'refining', 'first') AS stage, e.passes, e.loaded_g, e.before_g,
    e.in_g, e.wax_g, e.residue_g, (e.in_g - e.wax_g - e.residue_g)::DECIMAL(18, 6) AS unaccounted_g,
    (e.before_g + e.loaded_g - e.in_g)::DECIMAL(18, 6) AS handling_g,
    if(e.in_known, 1 - e.wax_g::DOUBLE / nullif(e.in_g, 0)::DOUBLE, NULL) AS loss,
    e.in_weighed, e.in_known, e.in_known AND e.in_g IS NOT NULL AND e.wax_g IS NOT NULL AS counted, e.residue_weighed
FROM entered AS e LEFT JOIN (SELECT session FROM session_loads WHERE wax_only) AS l USING (session)
