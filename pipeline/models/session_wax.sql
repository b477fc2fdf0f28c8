-- one row per session: what became of the wax of its last pass
-- kept: no
-- session: the session
-- blocks_g: blocks cast from it, g
-- blocks: how many blocks
-- passed_on_g: its wax loaded into other sessions, g
-- passes_on: how many loads of it went on
-- set_aside_g: wax that waits, g
-- casting_g: what is left unexplained of its last wax_out, g
WITH cast_wax AS (
    SELECT session, sum(mass_g)::DECIMAL(18, 6) AS blocks_g, count(*) AS blocks
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
    SELECT s.session, coalesce(c.blocks_g, 0) AS blocks_g, coalesce(c.blocks, 0) AS blocks,
        coalesce(p.passed_on_g, 0) AS passed_on_g, coalesce(p.passes_on, 0) AS passes_on, s.last_wax_g,
        s.last_wax_g - coalesce(p.passed_on_g, 0) AS rest_g,
        c.session IS NULL AND e.session IS NULL AS waits
    FROM sessions AS s
    LEFT JOIN cast_wax AS c USING (session) LEFT JOIN passed AS p USING (session) LEFT JOIN emptied AS e USING (session)
)
SELECT
    session, blocks_g, blocks, passed_on_g, passes_on,
    if(waits AND rest_g::DOUBLE >= 2 * step_g, rest_g, 0)::DECIMAL(18, 6) AS set_aside_g,
    (rest_g - if(waits AND rest_g::DOUBLE >= 2 * step_g, rest_g, 0) - blocks_g)::DECIMAL(18, 6) AS casting_g
FROM rest JOIN scales ON scales.log = 'passes'
