-- one row per session: its yield and how sure its weighings make it
-- session: the session
-- date: date of its first pass
-- season: the session's season
-- method: method of its first pass
-- comb: the kind of comb it stands under
-- loaded_g: comb and slumgum loaded, g; missing where not known
-- wax_g: blocks + passed on + set aside - wax loaded, g
-- yield: wax / loaded; missing where wax alone was loaded
-- u: standard uncertainty of the yield (GUM, weighings independent, gain of one scale cancels)
-- flags: slumgum, wax_loaded, set_aside, unweighed, where they apply
WITH steps AS (  -- what the steps of the scales add, side by side
    SELECT max(step_g ** 2 / 12) FILTER (log = 'loads') AS loads_u2,
        max(step_g ** 2 / 12) FILTER (log = 'blocks') AS blocks_u2,
        max(step_g ** 2 / 12) FILTER (log = 'passes') AS passes_u2
    FROM scales
),
gains AS (  -- what the gains add where several scales weighed, by the logs that the weighings stand in
    SELECT l.used AS by_loads, b.used AS by_blocks, p.used AS by_passes,
        (SELECT if(count(*) > 1, sum(relative ** 2), 0) FROM (SELECT DISTINCT scale, relative FROM scales
            WHERE (l.used AND log = 'loads') OR (b.used AND log = 'blocks') OR (p.used AND log = 'passes'))) AS gains_u2
    FROM (VALUES (true), (false)) AS l(used), (VALUES (true), (false)) AS b(used), (VALUES (true), (false)) AS p(used)
),
weighings AS (
    SELECT w.*, (blocks_g + passed_on_g + set_aside_g - wax_loaded_g)::DECIMAL(18, 6) AS wax_g,
        if(wax_only, NULL, wax_g::DOUBLE / nullif(fed_g, 0)::DOUBLE) AS yield,
        if(set_aside_g > 0, passes_u2, blocks * blocks_u2 + passes_on * loads_u2) + wax_loads * loads_u2 AS wax_u2,
        loads * if(logged, loads_u2, passes_u2) AS fed_u2,
        logged OR wax_loads > 0 OR (passes_on > 0 AND set_aside_g = 0) AS by_loads,
        blocks > 0 AS by_blocks, set_aside_g > 0 OR NOT logged AS by_passes
    FROM session_wax AS w CROSS JOIN steps
)
SELECT session, date, season, method, comb, fed_g AS loaded_g, wax_g, yield,
    sqrt((wax_u2 + yield ** 2 * fed_u2) / fed_g::DOUBLE ** 2 + yield ** 2 * gains_u2) AS u,
    list_filter([if(has_slumgum, 'slumgum', NULL), if(wax_loads > 0, 'wax_loaded', NULL),
        if(set_aside_g > 0, 'set_aside', NULL), if(unweighed, 'unweighed', NULL)], lambda x: x IS NOT NULL) AS flags
FROM weighings JOIN gains USING (by_loads, by_blocks, by_passes)
ORDER BY session
