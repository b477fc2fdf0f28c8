-- one row per season: the share of wax that its refining passes lost
SELECT season, 1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM losses_by_group WHERE grouping = 'season' AND stage = 'refining' AND season IS NOT NULL GROUP BY season ORDER BY season
