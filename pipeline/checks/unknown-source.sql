-- a load whose source is no harvest, block or session
-- severity: error
-- message: no harvest, block or session is named {named}
-- fix: correct the name, or add the lot to its log
-- fix_case: is {near} meant? Capital and small letters count in a name
-- value: named
-- example: loads: S1,H1 -> S1,H9
WITH lost AS (
    SELECT row, named FROM load_source_kinds
    WHERE source_kind IS NULL AND matches < 2 AND named IS NOT NULL
        AND EXISTS (FROM harvests) AND EXISTS (FROM blocks) AND EXISTS (FROM passes)
),
names AS (
    SELECT harvest AS name FROM harvests UNION ALL SELECT block FROM blocks UNION ALL SELECT session FROM passes
),
alike AS (
    SELECT lower(name) AS lowered, min(name) AS near FROM names WHERE lower(name) IN (SELECT lower(named) FROM lost) GROUP BY ALL
)
SELECT 'loads' AS log, row, 'source' AS "column", named, near, if(near IS NULL, NULL, 'case') AS variant
FROM lost LEFT JOIN alike ON lowered = lower(named)
