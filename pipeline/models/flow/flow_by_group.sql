-- one row per grouping and group: the waterfall summed over its sessions
-- with: grouping, season, method, sessions, loaded_g, blocks_g, passed_on_g, set_aside_g, residue_g, unaccounted_g
-- with: handling_g, casting_g
SELECT
    CASE grouping_id(season, method) WHEN 3 THEN 'book' WHEN 1 THEN 'season' ELSE 'method' END AS grouping,
    season, method, count(*) AS sessions,
    coalesce(sum(loaded_g), 0)::DECIMAL(18, 6) AS loaded_g, coalesce(sum(blocks_g), 0)::DECIMAL(18, 6) AS blocks_g,
    coalesce(sum(passed_on_g), 0)::DECIMAL(18, 6) AS passed_on_g, coalesce(sum(set_aside_g), 0)::DECIMAL(18, 6) AS set_aside_g,
    coalesce(sum(residue_g), 0)::DECIMAL(18, 6) AS residue_g,
    coalesce(sum(unaccounted_g), 0)::DECIMAL(18, 6) AS unaccounted_g,
    coalesce(sum(handling_g), 0)::DECIMAL(18, 6) AS handling_g, coalesce(sum(casting_g), 0)::DECIMAL(18, 6) AS casting_g
FROM flow_by_session
WHERE loaded_g IS NOT NULL AND handling_g IS NOT NULL  -- else the sums could not close
GROUP BY GROUPING SETS ((), (season), (method))
ORDER BY ALL
