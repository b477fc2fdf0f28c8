-- a load from an earlier session that does not say slumgum or wax
-- severity: error
SELECT 'loads' AS log, row, 'part' AS "column", NULL::VARCHAR AS value,
    'the source is session ' || source || ', but not whether its wax or its slumgum was loaded' AS message,
    'write wax or slumgum under part' AS fix
FROM load_links WHERE source_kind = 'session' AND part IS NULL AND NOT bad
