-- a load from an earlier session that does not say slumgum or wax
-- severity: error
SELECT 'loads' AS log, l.row, 'part' AS "column", NULL::VARCHAR AS value,
    'the source is session ' || k.source || ', but not whether its wax or its slumgum was loaded' AS message,
    'write wax or slumgum under part' AS fix
FROM loads AS l JOIN load_links AS k USING (row)
WHERE k.source_kind = 'session' AND l.part IS NULL AND NOT l.bad
