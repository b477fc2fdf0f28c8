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
-- u2: squared standard uncertainty of the session's yield
-- var_g2: what its weighings give to the variance of a group's wax by comb loaded, g^2
-- method_var_g2: the same where slumgum stands as a row of its own, g^2
-- set_aside: whether some of the wax still waits
-- has_slumgum: whether the session is flagged slumgum
-- wax_loaded: whether it is flagged so
-- unweighed: whether it is flagged so
WITH won AS (  -- what is left for comb and slumgum once the wax loaded has kept its mass
    SELECT y.session, y.method, y.u ** 2 AS u2, l.fed_g, l.loads, e.aside_g > 0 AS set_aside,
        l.has_slumgum, l.wax_loads > 0 AS wax_loaded, list_contains(y.flags, 'unweighed') AS unweighed,
        e.end_g - l.wax_loaded_g AS wax_g
    FROM session_yields AS y JOIN session_loads AS l USING (session) JOIN wax_ends AS e USING (session)
    WHERE l.known AND NOT l.wax_only
),
fed AS (
    SELECT session, NULL AS source, count(*) AS loads, sum(mass_g)::DECIMAL(28, 12) AS mass_g FROM load_sources
    WHERE part = 'comb' OR part IS NULL GROUP BY session
    UNION ALL
    SELECT session, source, count(*), sum(mass_g)::DECIMAL(28, 12) FROM load_sources
    WHERE part = 'slumgum' GROUP BY session, source
),
traced AS (
    SELECT f.session, f.source IS NOT NULL AS slumgum, if(f.source IS NULL, f.session, o.origin) AS origin,
        sum((f.mass_g::DOUBLE * coalesce(o.share, 1))::DECIMAL(28, 12))::DECIMAL(28, 12) AS mass_g,
        sum((f.loads * coalesce(o.share, 1))::DECIMAL(28, 12))::DOUBLE AS loads
    FROM fed AS f LEFT JOIN session_origins AS o ON o.session = f.source
    WHERE f.source IS NULL OR o.counted  -- where comb was weighed nowhere, nothing enters a group
    GROUP BY ALL
),
all_slumgum AS (
    SELECT session, sum(mass_g) AS mass_g FROM traced WHERE slumgum GROUP BY session
)
SELECT
    t.session, t.origin, t.slumgum, s.season, if(t.slumgum, w.method || ' (slumgum)', w.method) AS method, c.comb,
    if(t.slumgum, 0, t.mass_g)::DECIMAL(28, 12) AS loaded_g, if(t.slumgum, t.mass_g, 0)::DECIMAL(28, 12) AS slumgum_g,
    (w.wax_g::DOUBLE * if(w.fed_g > 0, t.mass_g::DOUBLE / w.fed_g::DOUBLE, t.loads / w.loads))::DECIMAL(28, 12) AS wax_g,
    w.u2,
    if(t.slumgum, 0, t.mass_g::DOUBLE ** 2 * w.u2)::DECIMAL(38, 18) AS var_g2,
    -- all origins of a session's slumgum together: the parts sum to the square of their mass
    (t.mass_g::DOUBLE * if(t.slumgum, a.mass_g, t.mass_g)::DOUBLE * w.u2)::DECIMAL(38, 18) AS method_var_g2,
    w.set_aside, w.has_slumgum, w.wax_loaded, w.unweighed
FROM traced AS t
JOIN won AS w ON w.session = t.session
LEFT JOIN all_slumgum AS a ON a.session = t.session
LEFT JOIN sessions AS s ON s.session = t.origin
LEFT JOIN session_combs AS c ON c.session = t.origin
