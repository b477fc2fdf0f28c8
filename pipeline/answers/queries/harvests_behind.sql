-- one row per harvest named, and hive that it came from
SELECT h.*, x.hold FROM harvest_hives AS h JOIN harvests AS x USING (harvest) WHERE list_contains($1, harvest) ORDER BY harvest, apiary, hive
