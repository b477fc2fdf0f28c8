-- one row per grouping and group: the waterfall summed over its sessions
-- grouping: book, season or method
-- name: the group
-- sessions: how many sessions it sums
-- loaded_g: everything loaded, g
-- blocks_g: blocks cast, g
-- passed_on_g: wax loaded into other sessions, g
-- set_aside_g: wax that waits, g
-- residue_g: residues weighed, g
-- unaccounted_g: what the passes cannot account for, g
-- handling_g: what went missing between passes, g
-- casting_g: what went missing between the last pass and the blocks, g
SELECT
    CASE grouping_id(season, method) WHEN 3 THEN 'book' WHEN 1 THEN 'season' ELSE 'method' END AS grouping,
    coalesce(season, method) AS name, count(*) AS sessions,
    sum(loaded_g)::DECIMAL(18, 6) AS loaded_g, sum(blocks_g)::DECIMAL(18, 6) AS blocks_g,
    sum(passed_on_g)::DECIMAL(18, 6) AS passed_on_g, sum(set_aside_g)::DECIMAL(18, 6) AS set_aside_g,
    sum(residue_g)::DECIMAL(18, 6) AS residue_g, sum(unaccounted_g)::DECIMAL(18, 6) AS unaccounted_g,
    sum(handling_g)::DECIMAL(18, 6) AS handling_g, sum(casting_g)::DECIMAL(18, 6) AS casting_g
FROM session_flow
WHERE loaded_g IS NOT NULL AND handling_g IS NOT NULL  -- else the sums could not close
GROUP BY GROUPING SETS ((), (season), (method))
ORDER BY grouping, name
