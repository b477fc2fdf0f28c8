-- one row per session and origin of what it rendered: the rows that every group of yields sums
-- session: the session that rendered it
-- origin: the session that rendered the comb first: itself for comb, another for slumgum; missing: from outside
-- season: season of the origin
-- method: method of the session, with (slumgum) behind it for slumgum
-- comb: the kind of comb the origin stands under
-- loaded_g: comb loaded, g; 0 for slumgum, which was loaded before
-- slumgum_g: slumgum loaded, g
-- wax_g: wax won from it, followed to its end, g
-- u2: squared standard uncertainty of the session's yield
-- set_aside: whether some of the wax still waits
-- flags: the flags of the session
WITH won AS (  -- what is left for comb and slumgum once the wax loaded has kept its mass
    SELECT y.session, y.method, y.u ** 2 AS u2, y.flags, l.fed_g, e.aside_g > 0 AS set_aside,
        e.end_g - l.wax_loaded_g AS wax_g
    FROM session_yields AS y JOIN session_loads AS l USING (session) JOIN wax_ends AS e USING (session)
    WHERE y.yield IS NOT NULL
),
fed AS (
    SELECT session, NULL AS source, sum(mass_g)::DECIMAL(18, 6) AS mass_g FROM load_sources
    WHERE part = 'comb' OR part IS NULL GROUP BY session
    UNION ALL
    SELECT session, source, sum(mass_g)::DECIMAL(18, 6) FROM load_sources
    WHERE part = 'slumgum' GROUP BY session, source
),
traced AS (
    SELECT f.session, f.source IS NOT NULL AS slumgum, if(f.source IS NULL, f.session, o.origin) AS origin,
        sum((f.mass_g::DOUBLE * coalesce(o.share, 1))::DECIMAL(18, 6))::DECIMAL(18, 6) AS mass_g
    FROM fed AS f LEFT JOIN session_origins AS o ON o.session = f.source
    WHERE f.source IS NULL OR o.counted  -- where comb was weighed nowhere, nothing enters a group
    GROUP BY ALL
)
SELECT
    t.session, t.origin, s.season, if(t.slumgum, w.method || ' (slumgum)', w.method) AS method, c.comb,
    if(t.slumgum, 0, t.mass_g)::DECIMAL(18, 6) AS loaded_g, if(t.slumgum, t.mass_g, 0)::DECIMAL(18, 6) AS slumgum_g,
    (w.wax_g::DOUBLE * (t.mass_g::DOUBLE / w.fed_g::DOUBLE))::DECIMAL(18, 6) AS wax_g, w.u2, w.set_aside, w.flags
FROM traced AS t
JOIN won AS w ON w.session = t.session
LEFT JOIN sessions AS s ON s.session = t.origin
LEFT JOIN session_combs AS c ON c.session = t.origin
ORDER BY t.session, t.origin
