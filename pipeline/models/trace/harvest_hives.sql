-- one row per harvest and hive that it came from
-- kept: as a view
-- with: harvest, apiary, hive
-- share: its share of the harvest: several hives evenly, as nobody weighed them apart
-- shared: whether the harvest came from several hives
SELECT harvest, apiary, trim(unnest(hives)) AS hive, 1 / len(hives) AS share, len(hives) > 1 AS shared
FROM (SELECT harvest, apiary, coalesce(string_split(hive, ' + '), [NULL]) AS hives FROM harvests)
