-- one row per session that not its own comb alone fed, and what fed it: the shares by mass in which its slumgum and
-- losses belong to each feed
-- kept: no
-- with: session
-- feed: the session that the slumgum or wax loaded came from; itself for comb; missing for wax from outside
-- own: whether the feed is comb (or what nobody logged), so that the session is its own origin
-- known: whether all comb of the session was weighed, so that yields may know of it
-- share: share of the session's mass, by comb and slumgum, or by wax where wax alone was loaded
WITH feeds AS (
    SELECT l.session, l.part = 'comb' OR l.part IS NULL AS own,
        CASE
            WHEN l.part = 'comb' OR l.part IS NULL THEN l.session
            WHEN l.source_kind = 'block' THEN b.session
            ELSE l.source
        END AS feed,
        any_value(t.known) AS known,
        sum(l.flow_g) AS mass_g
    FROM loaded_masses AS l
    JOIN session_loads AS t USING (session)
    LEFT JOIN blocks AS b ON l.source_kind = 'block' AND b.block = l.source
    WHERE NOT t.own_comb AND (t.wax_only OR l.part IS DISTINCT FROM 'wax')
    GROUP BY ALL
),
whole AS (
    SELECT session, sum(mass_g)::DOUBLE AS mass_g, count(*) AS feeds FROM feeds GROUP BY session
)
SELECT f.session, f.feed, f.own, f.known,
    if(w.mass_g > 0, coalesce(f.mass_g::DOUBLE, 0) / w.mass_g, 1 / w.feeds) AS share
FROM feeds AS f JOIN whole AS w USING (session)
