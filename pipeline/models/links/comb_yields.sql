-- one row per session and origin of what it rendered: the rows that every group of yields sums
-- kept: no
-- session: the session that rendered it
-- origin: the session that rendered the comb first: itself for comb, another for slumgum; missing: from outside
-- slumgum: whether it is slumgum
-- season: season of the origin
-- method: method of the session, with (slumgum) behind it for slumgum
-- comb: the kind of comb the origin stands under
-- loaded_g: comb loaded, g; 0 for slumgum, which was loaded before
-- slumgum_g: slumgum loaded, g
-- wax_g: wax won from it, followed to its end, g
-- var_g2: what its weighings give to the variance of a group's wax by comb loaded, g^2
-- method_var_g2: the same where slumgum stands as a row of its own, g^2
-- set_aside: whether some of the wax still waits
-- has_slumgum: whether the session is flagged slumgum
-- wax_loaded: whether it is flagged so
-- unweighed: whether it is flagged so
WITH won AS (  -- what is left for comb and slumgum once the wax loaded has kept its mass
    SELECT w.session, w.season, w.method, w.comb, w.fed_g, w.slumgum_g AS fed_slumgum_g, w.loads, w.comb_loads,
        coalesce(e.end_g, w.blocks_g + w.set_aside_g) - w.wax_loaded_g AS won_g, y.u ** 2 AS u2,
        coalesce(e.aside_g, w.set_aside_g) > 0 AS set_aside, w.has_slumgum, w.wax_loads > 0 AS wax_loaded, w.unweighed
    FROM session_wax AS w JOIN session_yields AS y USING (session) LEFT JOIN wax_ends AS e USING (session)
    WHERE w.known AND NOT w.wax_only
),
fed AS (
    SELECT session, source, count(*) AS loads, sum(mass_g)::DOUBLE AS mass_g FROM load_sources
    WHERE part = 'slumgum' GROUP BY session, source
),
traced AS (
    SELECT f.session, if(g.own_comb, g.session, o.origin) AS origin,
        sum((f.mass_g * coalesce(o.share, 1))::DECIMAL(28, 12))::DECIMAL(28, 12) AS mass_g,
        sum((f.loads * coalesce(o.share, 1))::DECIMAL(28, 12))::DOUBLE AS part_loads
    FROM fed AS f JOIN session_loads AS g ON g.session = f.source LEFT JOIN session_origins AS o ON o.session = f.source
    WHERE if(g.own_comb, g.known, o.counted)  -- where comb was weighed nowhere, nothing enters a group
    GROUP BY ALL
),
parts AS (
    SELECT *, session AS origin, false AS slumgum, (fed_g - fed_slumgum_g)::DECIMAL(28, 12) AS mass_g,
        comb_loads::DOUBLE AS part_loads, mass_g AS together_g
    FROM won WHERE comb_loads > 0
    UNION ALL BY NAME
    SELECT w.* REPLACE (s.season AS season, w.method || ' (slumgum)' AS method, s.comb AS comb), t.origin, true AS slumgum,
        t.mass_g, t.part_loads, sum(t.mass_g) OVER (PARTITION BY t.session)::DECIMAL(28, 12) AS together_g
    FROM traced AS t JOIN won AS w USING (session) LEFT JOIN session_wax AS s ON s.session = t.origin
)
SELECT session, origin, slumgum, season, method, comb, if(slumgum, 0, mass_g)::DECIMAL(28, 12) AS loaded_g,
    if(slumgum, mass_g, 0)::DECIMAL(28, 12) AS slumgum_g,
    (won_g::DOUBLE * if(fed_g > 0, mass_g::DOUBLE / fed_g::DOUBLE, part_loads / loads))::DECIMAL(28, 12) AS wax_g,
    if(slumgum, 0, mass_g::DOUBLE ** 2 * u2)::DECIMAL(38, 18) AS var_g2,
    -- all origins of a session's slumgum together: the parts sum to the square of their mass
    (mass_g::DOUBLE * together_g::DOUBLE * u2)::DECIMAL(38, 18) AS method_var_g2,
    set_aside, has_slumgum, wax_loaded, unweighed
FROM parts
