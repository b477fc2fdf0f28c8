-- one row per session: the wax that it won, and what its weighings add to the uncertainty of a yield
-- kept: no
-- with: session, wax_g
-- yield: wax / comb and slumgum loaded; missing where wax alone was loaded
-- end_g: the same wax, what was passed on followed to its end, g
-- with: waits, loads
-- wax_u2: variance of its weighings of wax by the step of their scales, g^2
-- load_u2: the same of one load of comb or slumgum, g^2
-- with: by_loads, by_blocks, by_passes, has_slumgum, has_wax, unweighed
WITH steps AS (  -- what the steps of the scales add, side by side
    SELECT any_value(step_g ** 2 / 12) FILTER (log = 'loads') AS loads_u2,
        any_value(step_g ** 2 / 12) FILTER (log = 'blocks') AS blocks_u2,
        any_value(step_g ** 2 / 12) FILTER (log = 'passes') AS passes_u2
    FROM scales
)
SELECT w.session, (blocks_g + passed_on_g + set_aside_g - wax_loaded_g)::DECIMAL(18, 6) AS wax_g,
    if(wax_only, NULL, wax_g::DOUBLE / nullif(fed_g, 0)::DOUBLE) AS yield,
    coalesce(f.end_g, blocks_g + set_aside_g) - wax_loaded_g AS end_g, coalesce(f.aside_g, set_aside_g) > 0 AS waits,
    loads, if(set_aside_g > 0, passes_u2, blocks * blocks_u2 + passes_on * loads_u2) + wax_loads * loads_u2 AS wax_u2,
    if(logged, loads_u2, passes_u2) AS load_u2,
    logged OR (passes_on > 0 AND set_aside_g = 0) AS by_loads,
    blocks > 0 AS by_blocks, set_aside_g > 0 OR NOT logged AS by_passes,
    has_slumgum, wax_loads > 0 AS has_wax, unweighed
FROM session_wax AS w CROSS JOIN steps LEFT JOIN wax_followed AS f USING (session)
