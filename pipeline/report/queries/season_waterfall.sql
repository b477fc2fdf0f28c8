-- the waterfall of the latest season
SELECT * FROM flow_by_group WHERE grouping = 'season' ORDER BY season DESC LIMIT 1
