-- one row per season, comb and method: comb loaded, wax won in the end, and the sums that a scatter is worked out from
-- kept: for answers
-- with: season, comb, method
-- loaded_g: comb loaded, g
-- wax_g: wax won from that comb, followed to its end, g
-- sessions: how many sessions loaded comb of it
-- loaded_g2: the squares of what each loaded, g^2
-- told: how many loaded 500 g or more and gave wax: those that a change of the season is judged by
-- told_yields: the yields of those, added
-- odds: the logs of the odds of their yields, added
-- odds2: the squares of these, added
-- yields: the yields of all its sessions, added
-- yields2: the squares of these, added
WITH won AS (
    SELECT session, origin, season, comb, sum(if(slumgum, 0, mass_g)) AS loaded_g, sum(wax_g) AS wax_g,
        sum(wax_g)::DOUBLE / nullif(loaded_g, 0)::DOUBLE AS yield, loaded_g >= 500 AND yield > 0 AS told,
        greatest(least(yield, 0.995), 0.005) AS within, ln(within / (1 - within)) AS odds
    FROM yield_parts WHERE placed GROUP BY session, origin, season, comb, slumgum
)
SELECT w.season, w.comb, o.method, sum(w.loaded_g) AS loaded_g, sum(w.wax_g) AS wax_g,
    count(*) FILTER (w.loaded_g > 0) AS sessions,
    coalesce(sum((w.loaded_g::DOUBLE ** 2)::DECIMAL(38, 6)) FILTER (w.loaded_g > 0), 0) AS loaded_g2,
    count(*) FILTER (told) AS told, coalesce(sum(w.yield::DECIMAL(38, 15)) FILTER (told), 0) AS told_yields,
    coalesce(sum(odds::DECIMAL(38, 15)) FILTER (told), 0) AS odds,
    coalesce(sum((odds ** 2)::DECIMAL(38, 15)) FILTER (told), 0) AS odds2,
    coalesce(sum(w.yield::DECIMAL(38, 15)) FILTER (w.loaded_g > 0), 0) AS yields,
    coalesce(sum((w.yield ** 2)::DECIMAL(38, 15)) FILTER (w.loaded_g > 0), 0) AS yields2
FROM won AS w JOIN yields_by_session AS o ON o.session = w.origin
WHERE w.loaded_g > 0 OR w.wax_g > 0
GROUP BY ALL ORDER BY w.season, w.comb NULLS LAST, o.method NULLS LAST
