-- all the slumgum of a session loaded where not all of it was weighed
-- severity: error
SELECT 'loads' AS log, l.row, 'mass' AS "column", NULL::VARCHAR AS value,
    'all slumgum of session ' || k.source || ' was loaded, but not every residue of it was weighed' AS message,
    'write what was loaded under mass, or the missing residues in passes.csv' AS fix
FROM loads AS l JOIN load_links AS k USING (row)
WHERE k.source_kind = 'session' AND l.part = 'slumgum' AND l.mass_g IS NULL AND NOT l.bad
    AND EXISTS (SELECT 1 FROM passes AS p WHERE p.session = k.source AND p.residue_g IS NULL)
