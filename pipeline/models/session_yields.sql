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
WITH steps AS (  -- the scales of the weighings, side by side
    SELECT max(step_g ** 2 / 12) FILTER (log = 'loads') AS loads_u2, max(relative) FILTER (log = 'loads') AS loads_rel,
        max(scale) FILTER (log = 'loads') AS loads_scale,
        max(step_g ** 2 / 12) FILTER (log = 'blocks') AS blocks_u2,
        max(relative) FILTER (log = 'blocks') AS blocks_rel, max(scale) FILTER (log = 'blocks') AS blocks_scale,
        max(step_g ** 2 / 12) FILTER (log = 'passes') AS passes_u2,
        max(relative) FILTER (log = 'passes') AS passes_rel, max(scale) FILTER (log = 'passes') AS passes_scale
    FROM scales
),
sides AS (
    SELECT f.*, l.fed_g, l.loads, l.logged, l.wax_only, l.has_slumgum, l.wax_loads, w.blocks, w.passes_on,
        l.unweighed OR s.unweighed AS unweighed,
        (f.blocks_g + f.passed_on_g + f.set_aside_g - l.wax_loaded_g)::DECIMAL(18, 6) AS wax_g,
        if(l.wax_only, NULL, (f.blocks_g + f.passed_on_g + f.set_aside_g - l.wax_loaded_g)::DOUBLE
            / nullif(l.fed_g, 0)::DOUBLE) AS yield
    FROM session_flow AS f JOIN session_loads AS l USING (session)
    JOIN session_wax AS w USING (session) JOIN sessions AS s USING (session)
),
weighings AS (
    SELECT *,
        if(set_aside_g > 0, passes_u2, blocks * blocks_u2 + passes_on * loads_u2) + wax_loads * loads_u2 AS wax_u2,
        loads * if(logged, loads_u2, passes_u2) AS fed_u2,
        list_distinct(list_filter([
            if(logged OR wax_loads > 0 OR (passes_on > 0 AND set_aside_g = 0),
                {'scale': loads_scale, 'rel': loads_rel}, NULL),
            if(blocks > 0, {'scale': blocks_scale, 'rel': blocks_rel}, NULL),
            if(set_aside_g > 0 OR NOT logged, {'scale': passes_scale, 'rel': passes_rel}, NULL)
        ], lambda x: x IS NOT NULL)) AS used
    FROM sides CROSS JOIN steps
)
SELECT session, date, season, method, comb, fed_g AS loaded_g, wax_g, yield,
    sqrt((wax_u2 + yield ** 2 * fed_u2) / fed_g::DOUBLE ** 2
        + if(len(used) > 1, yield ** 2 * list_sum(list_transform(used, lambda x: x.rel ** 2)), 0)) AS u,
    list_filter([if(has_slumgum, 'slumgum', NULL), if(wax_loads > 0, 'wax_loaded', NULL),
        if(set_aside_g > 0, 'set_aside', NULL), if(unweighed, 'unweighed', NULL)], lambda x: x IS NOT NULL) AS flags
FROM weighings
ORDER BY session
