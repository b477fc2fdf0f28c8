-- one row per session: what was loaded into it, and what became of the wax of its last pass
-- kept: no
-- session: the session
-- date: date of its first pass
-- last_date: date of its last pass
-- season: the year that its season starts in
-- method: the method of its first pass
-- last_pass: number of its last pass
-- last_wax_g: wax_out of the last pass, g
-- comb: the kind of comb it stands under
-- loaded_g: everything loaded over its passes, estimates by frames included, g; missing where even they fail
-- known: whether all of it is known, not estimated
-- wax_loaded_g: of it blocks and wax of other sessions, g
-- fed_g: of it comb and slumgum, g; missing where not known
-- slumgum_g: of it slumgum, g
-- wax_loads: how many loads of wax
-- loads: how many loads other than wax
-- comb_loads: of them comb, or what nobody logged
-- logged: whether it has a load at all
-- wax_only: whether it was fed by wax alone
-- has_slumgum: whether slumgum was loaded
-- own_comb: whether neither slumgum nor wax alone was loaded, so that its slumgum and losses belong to its own comb
-- unweighed: whether a load, a wax_out or a residue was left empty
-- blocks_g: blocks cast from it, g
-- blocks: how many blocks
-- first_cast: the day of the first of them
-- passed_on_g: its wax loaded into other sessions, g
-- passes_on: how many loads of it went on
-- set_aside_g: wax that waits, g
-- casting_g: what is left unexplained of its last wax_out, g
WITH cast_wax AS (
    SELECT session, sum(mass_g)::DECIMAL(18, 6) AS blocks_g, count(*) AS blocks, min(date) AS first_cast
    FROM blocks WHERE session IS NOT NULL GROUP BY session
),
passed AS (
    SELECT source AS session, sum(mass_g)::DECIMAL(18, 6) AS passed_on_g, count(*) AS passes_on
    FROM load_sources WHERE source_kind = 'session' AND part = 'wax' GROUP BY source
),
emptied AS (
    SELECT DISTINCT source AS session FROM load_parts WHERE source_kind = 'session' AND part = 'wax' AND emptied
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
