-- all the slumgum of a session loaded where not all of it was weighed
-- severity: error
-- message: all slumgum of session {source} was loaded, but not every residue of it was weighed
-- fix: write what was loaded under mass, or the missing residues in passes.csv
-- example: passes: 390,5 -> 390, && passes + S2,1,2025-06-10,steam,,100,5, && loads + S2,S1,slumgum,,
SELECT 'loads' AS log, row, 'mass' AS "column", l.source
FROM load_source_kinds AS l JOIN loads AS t USING (row)
WHERE l.source_kind = 'session' AND l.part = 'slumgum' AND l.mass_g IS NULL AND NOT t.bad
    AND EXISTS (FROM passes AS p WHERE p.session = l.source AND p.residue_g IS NULL)
