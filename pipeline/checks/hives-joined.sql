-- several hives in one cell that are parted by commas or words, so that they count as one hive
-- severity: note
-- message: {hive} counts as one hive; it looks like {hives}
-- fix: if so, write {joined}, so that each gets its part
-- value: hive
-- example: harvests: ,7 -> ,7 & 8
WITH parted AS (SELECT row, hive, hives_meant(hive) AS names FROM harvests WHERE hive IS NOT NULL)
SELECT 'harvests' AS log, row, 'hive' AS "column", hive, len(names) AS hives, array_to_string(names, ' + ') AS joined
FROM parted WHERE len(names) > 1
