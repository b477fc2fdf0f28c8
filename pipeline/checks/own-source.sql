-- a session that loads its own wax or slumgum
-- severity: error
SELECT 'loads' AS log, row, 'source' AS "column", named AS value,
    'session ' || session || ' loads what it gave itself' AS message,
    'give what was done later a session of its own; a further pass needs no load' AS fix
FROM load_links WHERE source_kind = 'session' AND source = session
