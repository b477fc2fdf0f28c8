-- one row per session: what was loaded into it, and what became of the wax of its last pass
-- kept: for answers
-- with: session, date
-- with: last_date, season, method, last_pass, last_wax_g, comb, loaded_g, known, wax_loaded_g, fed_g, slumgum_g
-- with: wax_loads, loads, comb_loads, logged, wax_only, has_slumgum, own_comb, unweighed, blocks_g
-- blocks: how many blocks
-- first_cast: the day of the first of them
-- with: passed_on_g
-- passes_on: how many loads of it went on
-- with: set_aside_g, casting_g
WITH cast_wax AS (
    SELECT session, sum(mass_g)::DECIMAL(18, 6) AS blocks_g, count(*) AS blocks, min(date) AS first_cast
    FROM blocks WHERE session IS NOT NULL GROUP BY session
),
passed AS (
    SELECT source AS session, sum(mass_g)::DECIMAL(18, 6) AS passed_on_g, count(*) AS passes_on
    FROM loaded_masses WHERE source_kind = 'session' AND part = 'wax' GROUP BY source
),
emptied AS (
    SELECT DISTINCT source AS session FROM dated_loads WHERE source_kind = 'session' AND part = 'wax' AND emptied
),
rest AS (
    SELECT s.session, s.date, s.last_date, s.season, s.method, s.last_pass, s.last_wax_g, k.comb,
        l.* EXCLUDE (session, unweighed), s.unweighed OR l.unweighed AS unweighed,
        coalesce(c.blocks_g, 0) AS blocks_g, coalesce(c.blocks, 0) AS blocks, c.first_cast,
        coalesce(p.passed_on_g, 0) AS passed_on_g, coalesce(p.passes_on, 0) AS passes_on,
        s.last_wax_g - coalesce(p.passed_on_g, 0) AS rest_g, c.session IS NULL AND e.session IS NULL AS waits
    FROM sessions AS s
    JOIN session_loads AS l USING (session)
    LEFT JOIN session_combs AS k USING (session)
    LEFT JOIN cast_wax AS c USING (session) LEFT JOIN passed AS p USING (session) LEFT JOIN emptied AS e USING (session)
)
SELECT r.* EXCLUDE (rest_g, waits),
    if(r.waits AND r.rest_g::DOUBLE >= 2 * s.step_g, r.rest_g, 0)::DECIMAL(18, 6) AS set_aside_g,
    (r.rest_g - set_aside_g - r.blocks_g)::DECIMAL(18, 6) AS casting_g
FROM rest AS r JOIN scales AS s ON s.log = 'passes'
