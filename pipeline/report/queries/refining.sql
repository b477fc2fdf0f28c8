-- what refining passes lost, season by season
SELECT season, sum(steps) AS steps, sum(in_g) AS in_g, sum(in_g) - sum(wax_g) AS lost_g,
    1 - sum(wax_g) / nullif(sum(in_g), 0) AS loss
FROM losses_by_group WHERE grouping = 'season' AND stage = 'refining' GROUP BY season ORDER BY season
