-- one row per grouping and group: wax won over comb loaded, a ratio of sums
-- with: grouping, season
-- method: the method, where grouped by it; with (slumgum) behind it where slumgum was melted
-- with: comb, apiary, hive, sessions
-- loaded_g: comb loaded, g; slumgum in the rows of a method that melted slumgum
-- wax_g: wax won from it, g; what was passed on counts at what later sessions made of it
-- with: yield, u, flags
WITH sums AS (
    SELECT grouping, season, method, comb, apiary, hive, sum(sessions)::BIGINT AS sessions,
        coalesce(sum(loaded_g), 0)::DECIMAL(18, 6) AS loaded_g, coalesce(sum(wax_g), 0)::DECIMAL(18, 6) AS wax_g,
        sum(wax_g)::DOUBLE / nullif(sum(loaded_g), 0)::DOUBLE AS yield,
        sum(var0)::DOUBLE AS var0, sum(var1)::DOUBLE AS var1, sum(var2)::DOUBLE AS var2,
        bool_or(by_loads) AS by_loads, bool_or(by_blocks) AS by_blocks, bool_or(by_passes) AS by_passes,
        flags_of(bool_or(has_slumgum), bool_or(has_wax), bool_or(waits), bool_or(unweighed)) AS flags
    FROM yield_sums GROUP BY ALL
),
shared AS (  -- hives whose comb came in with that of others, and was counted in even parts
    SELECT DISTINCT 'hive' AS grouping, h.apiary, h.hive FROM harvest_hives AS h
    SEMI JOIN loaded_masses AS l ON l.part = 'comb' AND l.source = h.harvest
    WHERE h.shared
)
SELECT s.grouping, s.season, s.method, s.comb, s.apiary, s.hive, s.sessions, s.loaded_g, s.wax_g, s.yield,
    sqrt((s.var0 + s.var1 * s.yield + s.var2 * s.yield ** 2) / s.loaded_g::DOUBLE ** 2 + s.yield ** 2 * g.gains_u2) AS u,
    s.flags || if(h.hive IS NULL, [], ['shared']) AS flags
FROM sums AS s LEFT JOIN yield_scale_uncertainty AS g USING (by_loads, by_blocks, by_passes)
LEFT JOIN shared AS h ON h.grouping = s.grouping AND h.hive = s.hive AND h.apiary IS NOT DISTINCT FROM s.apiary
ORDER BY ALL
