-- one row per season, comb and method: comb loaded, wax won in the end, and the sums that a scatter is worked out from
SELECT c.season, c.comb, coalesce(o.method, c.method) AS method,
    sum(c.loaded_g) AS loaded_g, sum(c.wax_g) AS wax_g, count(*) FILTER (c.loaded_g > 0) AS sessions,
    coalesce(sum((c.loaded_g::DOUBLE ** 2)::DECIMAL(38, 6)) FILTER (c.loaded_g > 0), 0) AS loaded_g2,
    coalesce(sum((c.wax_g::DOUBLE / nullif(c.loaded_g, 0)::DOUBLE)::DECIMAL(38, 15)) FILTER (c.loaded_g > 0), 0) AS yields,
    coalesce(sum(((c.wax_g::DOUBLE / nullif(c.loaded_g, 0)::DOUBLE) ** 2)::DECIMAL(38, 15)) FILTER (c.loaded_g > 0), 0) AS yields2
FROM comb_yields AS c LEFT JOIN (
    SELECT session, method FROM session_yields WHERE session IN (SELECT origin FROM comb_yields WHERE slumgum)
) AS o ON o.session = c.origin  -- for all other comb its origin is its session
WHERE c.season IS NOT NULL AND (c.loaded_g > 0 OR c.wax_g > 0)
GROUP BY ALL ORDER BY c.season, c.comb NULLS LAST, method NULLS LAST
