-- one row per session, load of comb or slumgum, and place behind it: the rows that every group of yields sums
-- kept: no
-- with: session, load, origin
-- slumgum: whether it is slumgum, so that the comb behind it was loaded before
-- placed: whether its comb grew in this book and was weighed; else only the method knows of it
-- season: season of the session that rendered the comb first
-- method: method of the session, with (slumgum) behind it for slumgum
-- comb: the kind of comb that the session which rendered it first stands under
-- with: apiary, hive
-- share: share of the load that came from there
-- part: share of the session's comb and slumgum, by mass
-- mass_g: its mass, g
-- wax_g: wax won from it, followed to its end, g
WITH homes AS (  -- where the comb of a session came from, as shares of its mass
    SELECT session, apiary, hive, sum(share * if(whole_g > 0, mass_g::DOUBLE / whole_g, 1 / loads)) AS share
    FROM comb_loads JOIN (
        SELECT session, sum(mass_g * share)::DOUBLE AS whole_g, sum(share) AS loads FROM comb_loads GROUP BY session
    ) USING (session)
    WHERE session IN (SELECT source FROM loaded_masses WHERE part = 'slumgum' UNION SELECT origin FROM session_origins)
    GROUP BY ALL
),
origins AS (  -- the sessions whose comb slumgum came from
    SELECT session, origin, counted AND origin IS NOT NULL AS placed, share FROM session_origins
    UNION ALL SELECT session, session, known, 1 FROM session_loads WHERE own_comb
),
pieces AS (
    SELECT session, load, session AS origin, false AS slumgum, true AS placed, apiary, hive, share, mass_g FROM comb_loads
    UNION ALL
    SELECT l.session, l.row, o.origin, true, o.placed, h.apiary, h.hive, o.share * coalesce(h.share, 1), l.mass_g
    FROM loaded_masses AS l JOIN origins AS o ON o.session = l.source
    LEFT JOIN homes AS h ON o.placed AND h.session = o.origin
    WHERE l.part = 'slumgum'
)
SELECT p.session, p.load, p.origin, p.slumgum, p.placed, if(p.slumgum, o.season, w.season) AS season,
    if(p.slumgum, w.method || ' (slumgum)', w.method) AS method, if(p.slumgum, o.comb, w.comb) AS comb, p.apiary, p.hive,
    p.share, p.share * if(w.fed_g > 0, p.mass_g::DOUBLE / w.fed_g::DOUBLE, 1 / w.loads) AS part,
    (p.mass_g::DOUBLE * p.share)::DECIMAL(28, 12) AS mass_g, (n.end_g::DOUBLE * part)::DECIMAL(28, 12) AS wax_g
FROM pieces AS p JOIN session_wax AS w USING (session) JOIN session_won AS n USING (session)
LEFT JOIN session_wax AS o ON p.slumgum AND o.session = p.origin
WHERE w.known AND NOT w.wax_only
