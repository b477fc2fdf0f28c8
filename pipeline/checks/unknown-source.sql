-- a load whose source is no harvest, block or session
-- severity: error
-- message: no harvest, block or session is named {named}
-- fix: correct the name, or add the lot to its log
-- value: named
-- example: loads: S1,H1 -> S1,H9
SELECT 'loads' AS log, row, 'source' AS "column", named
FROM load_links WHERE source_kind IS NULL AND matches < 2 AND named IS NOT NULL
    AND EXISTS (FROM harvests) AND EXISTS (FROM blocks) AND EXISTS (FROM passes)
