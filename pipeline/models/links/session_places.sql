-- one row per session, apiary and hive: the shares in which its comb came from them
-- kept: no
-- session: the session
-- apiary: the apiary; missing where not logged
-- hive: the hive; missing where not logged
-- share: share of its comb by mass, several hives of one harvest evenly
-- apiary_share: share of all hives of that apiary
-- alone: whether it is the only hive of that apiary
WITH loads AS (
    SELECT l.session, h.apiary, h.hive,
        if(t.fed_g > t.slumgum_g, l.mass_g::DOUBLE / (t.fed_g - t.slumgum_g)::DOUBLE, 1 / t.comb_loads) AS share,
        t.comb_loads = 1 AND NOT coalesce(contains(h.hive, ' + '), false) AS single
    FROM load_sources AS l JOIN session_loads AS t USING (session)
    LEFT JOIN harvests AS h ON h.harvest = l.source AND l.part = 'comb'
    WHERE l.part = 'comb' OR l.part IS NULL
),
shares AS (
    SELECT session, apiary, unnest(hives) AS hive, share / len(hives) AS share
    FROM (SELECT *, coalesce(string_split(hive, ' + '), [NULL]) AS hives FROM loads WHERE NOT single)
),
places AS (
    SELECT session, apiary, trim(hive) AS hive, sum(share::DECIMAL(18, 15)) AS share
    FROM shares WHERE share IS NOT NULL GROUP BY session, apiary, trim(hive)
),
apiaries AS (
    SELECT session, apiary, sum(share) AS share FROM places GROUP BY session, apiary HAVING count(*) > 1
)
SELECT session, apiary, trim(hive) AS hive, 1 AS share, 1 AS apiary_share, true AS alone FROM loads WHERE single
UNION ALL
SELECT p.session, p.apiary, p.hive, p.share::DOUBLE, coalesce(a.share, p.share)::DOUBLE, a.session IS NULL
FROM places AS p LEFT JOIN apiaries AS a ON a.session = p.session AND a.apiary IS NOT DISTINCT FROM p.apiary
