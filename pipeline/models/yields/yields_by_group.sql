-- one row per grouping and group: wax won over comb loaded, a ratio of sums
-- grouping: book, season, method, comb, apiary or hive (a hive is an apiary's)
-- season: the season, where grouped by it
-- method: the method, where grouped by it; with (slumgum) behind it where slumgum was melted
-- comb: the kind of comb, where grouped by it; mixed where none makes up 90 %
-- apiary: the apiary, where grouped by it or by hive; missing where not logged
-- hive: the hive, where grouped by it; missing where not logged
-- sessions: how many sessions have a part in it
-- loaded_g: comb loaded, g; slumgum in the rows of a method that melted slumgum
-- wax_g: wax won, followed to its end, g
-- yield: wax / loaded
-- u: standard uncertainty of the yield, the group's ratio differentiated by every weighing (GUM 5.1.2)
-- flags: what applies to one of its sessions; set_aside where wax followed to its end still waits
WITH sums AS (
    SELECT grouping, season, method, comb, apiary, hive, sum(sessions)::BIGINT AS sessions,
        coalesce(sum(loaded_g), 0)::DECIMAL(18, 6) AS loaded_g, coalesce(sum(wax_g), 0)::DECIMAL(18, 6) AS wax_g,
        sum(wax_g)::DOUBLE / nullif(sum(loaded_g), 0)::DOUBLE AS yield,
        sum(var0)::DOUBLE AS var0, sum(var1)::DOUBLE AS var1, sum(var2)::DOUBLE AS var2,
        bool_or(by_loads) AS by_loads, bool_or(by_blocks) AS by_blocks, bool_or(by_passes) AS by_passes,
        flags_of(bool_or(has_slumgum), bool_or(has_wax), bool_or(waits), bool_or(unweighed)) AS flags
    FROM yield_sums GROUP BY ALL
)
SELECT s.grouping, s.season, s.method, s.comb, s.apiary, s.hive, s.sessions, s.loaded_g, s.wax_g, s.yield,
    sqrt((s.var0 + s.var1 * s.yield + s.var2 * s.yield ** 2) / s.loaded_g::DOUBLE ** 2 + s.yield ** 2 * g.gains_u2) AS u,
    s.flags
FROM sums AS s LEFT JOIN scale_gains AS g USING (by_loads, by_blocks, by_passes)
ORDER BY ALL
