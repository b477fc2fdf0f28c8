-- a load from an earlier session that does not say slumgum or wax
-- severity: error
-- message: the source is session {source}, but not whether its wax or its slumgum was loaded
-- fix: write wax or slumgum under part
-- example: passes + S2,1,2025-06-10,steam,,100,5, && loads + S2,S1,,,
SELECT 'loads' AS log, row, 'part' AS "column", l.source
FROM load_source_kinds AS l JOIN loads AS t USING (row) WHERE l.source_kind = 'session' AND l.part IS NULL AND NOT t.bad
