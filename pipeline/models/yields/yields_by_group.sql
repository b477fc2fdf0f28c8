-- one row per grouping and group: wax won over comb loaded, a ratio of sums
-- with: grouping, season
-- method: the method, where grouped by it; with (slumgum) behind it where slumgum was melted
-- with: comb, apiary, hive, sessions
-- loaded_g: comb loaded, g; slumgum in the rows of a method that melted slumgum
-- wax_g: wax won from it, g; what was passed on counts at what later sessions made of it
-- with: yield, u, flags
WITH sums AS (
    SELECT * EXCLUDE (loaded_g, wax_g, var0, var1, var2), coalesce(loaded_g, 0)::DECIMAL(18, 6) AS loaded_g,
        coalesce(wax_g, 0)::DECIMAL(18, 6) AS wax_g, y.wax_g::DOUBLE / nullif(y.loaded_g, 0)::DOUBLE AS yield,
        var0::DOUBLE AS var0, var1::DOUBLE AS var1, var2::DOUBLE AS var2,
        flags_of(has_slumgum, has_wax, waits, unweighed) AS flags
    FROM yield_sums AS y
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
