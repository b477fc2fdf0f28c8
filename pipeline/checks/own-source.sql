-- a session that loads its own wax or slumgum
-- severity: error
-- message: session {session} loads what came out of it itself
-- fix: give what was done later a session of its own; a further pass needs no load
-- value: named
-- example: loads: S1,H1, -> S1,S1,wax
SELECT 'loads' AS log, row, 'source' AS "column", named, session
FROM load_source_kinds WHERE source_kind = 'session' AND source = session
