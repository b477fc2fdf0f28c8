-- all the slumgum of a session loaded where not all of it was weighed
-- severity: error
SELECT 'loads' AS log, row, 'mass' AS "column", NULL::VARCHAR AS value,
    'all slumgum of session ' || source || ' was loaded, but not every residue of it was weighed' AS message,
    'write what was loaded under mass, or the missing residues in passes.csv' AS fix
FROM load_links AS l
WHERE source_kind = 'session' AND part = 'slumgum' AND mass_g IS NULL AND NOT bad
    AND EXISTS (FROM passes AS p WHERE p.session = l.source AND p.residue_g IS NULL)
