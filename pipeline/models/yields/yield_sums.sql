-- one row per group: the sums that its yield rests on
-- kept: no
-- with: grouping, season, method, comb, apiary, hive, sessions
-- loaded_g: what they loaded in the group, g: comb, and by method slumgum
-- wax_g: wax won, followed to its end, g
-- var0: what their weighings add to the variance of the group's wax by its yield Y, g^2: this,
-- var1: this times Y,
-- var2: and this times Y^2
-- with: has_slumgum, has_wax, waits, unweighed, by_loads, by_blocks, by_passes
WITH groupings(grouping) AS (VALUES ('book'), ('method'), ('season'), ('comb'), ('apiary'), ('hive')),
whole AS (  -- sessions all of whose loads are comb that came whole from one place
    SELECT session, season, method, comb, apiary, hive, loads, sum(mass_g) AS loaded_g, sum(p.wax_g) AS wax_g
    FROM yield_parts AS p JOIN session_won USING (session) WHERE NOT slumgum AND share = 1
    GROUP BY ALL HAVING count(*) = loads
),
by_load AS (  -- a: the share of a load that stands in the group; c: the same where it counts as loaded there
    SELECT grouping, if(grouping = 'method', method, NULL) AS method, if(grouping = 'season', season, NULL) AS season,
        if(grouping = 'comb', comb, NULL) AS comb, if(grouping IN ('apiary', 'hive'), apiary, NULL) AS apiary,
        if(grouping = 'hive', hive, NULL) AS hive, session, load, sum(share) AS a,
        sum(if(slumgum AND grouping <> 'method', 0, share)) AS c, sum(part) AS f,
        sum(if(slumgum AND grouping <> 'method', 0, mass_g)) AS loaded_g, sum(wax_g) AS wax_g
    FROM yield_parts ANTI JOIN whole USING (session), groupings
    WHERE placed OR grouping = 'method'  -- a method made wax of slumgum wherever its comb grew
    GROUP BY ALL
),
by_session AS (
    SELECT grouping, method, season, comb, apiary, hive, session, sum(f) AS f, sum(a) AS a, sum(a * a) AS aa, sum(c) AS c,
        sum(c * c) AS cc, sum(a * c) AS ac, sum(loaded_g) AS loaded_g, sum(wax_g) AS wax_g
    FROM by_load GROUP BY ALL
),
parts AS (  -- one row per session that stands in several groups, one per group for all others; f^2 n_wax, and (a y - f y - c Y)^2 over all loads of the session, y being its yield
    SELECT b.*, 1 AS sessions, n.* EXCLUDE (session, wax_g, yield), coalesce(n.yield, 0) AS y,
        exact(f * f * wax_u2 + y * y * (aa - 2 * f * a + loads * f * f) * load_u2) AS var0,
        exact(2 * y * (f * c - ac) * load_u2) AS var1, exact(cc * load_u2) AS var2
    FROM by_session AS b JOIN session_won AS n USING (session)
    UNION ALL BY NAME
    SELECT grouping, if(grouping = 'method', method, NULL) AS method, if(grouping = 'season', season, NULL) AS season,
        if(grouping = 'comb', comb, NULL) AS comb, if(grouping IN ('apiary', 'hive'), apiary, NULL) AS apiary,
        if(grouping = 'hive', hive, NULL) AS hive, count(*) AS sessions,
        sum(loaded_g) AS loaded_g, sum(w.wax_g) AS wax_g, sum(exact(wax_u2)) AS var0, 0 AS var1,
        sum(exact(w.loads * load_u2)) AS var2,
        bool_or(has_slumgum) AS has_slumgum, bool_or(has_wax) AS has_wax, bool_or(waits) AS waits,
        bool_or(unweighed) AS unweighed, bool_or(by_loads) AS by_loads, bool_or(by_blocks) AS by_blocks,
        bool_or(by_passes) AS by_passes
    FROM whole AS w JOIN session_won AS n USING (session), groupings
    GROUP BY ALL
    UNION ALL BY NAME
    SELECT 'book' AS grouping, 0 AS sessions  -- which has its row where nothing was rendered too
)
SELECT grouping, season, method, comb, apiary, hive, sum(sessions)::BIGINT AS sessions,
    sum(loaded_g) AS loaded_g, sum(wax_g) AS wax_g, sum(var0) AS var0, sum(var1) AS var1, sum(var2) AS var2,
    bool_or(has_slumgum) AS has_slumgum, bool_or(has_wax) AS has_wax, bool_or(waits) AS waits,
    bool_or(unweighed) AS unweighed, bool_or(by_loads) AS by_loads, bool_or(by_blocks) AS by_blocks,
    bool_or(by_passes) AS by_passes
FROM parts
GROUP BY ALL
