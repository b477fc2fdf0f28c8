-- a load whose source is no harvest, block or session
-- severity: error
SELECT 'loads' AS log, row, 'source' AS "column", named AS value,
    'no harvest, block or session is named ' || named AS message,
    'correct the name, or add the lot to its log' AS fix
FROM load_links WHERE source_kind IS NULL AND matches < 2 AND named IS NOT NULL
    AND EXISTS (FROM harvests) AND EXISTS (FROM blocks) AND EXISTS (FROM passes)
