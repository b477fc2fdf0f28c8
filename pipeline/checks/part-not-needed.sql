-- a part named for a source that has none
-- severity: warning
-- message: part says {part}, but the source is {source_kind} {source}, which has no parts
-- fix: take the part out, or name the session that the {part} came from
-- value: part
-- example: loads: H1,, -> H1,wax,
SELECT 'loads' AS log, row, 'part' AS "column", part, source_kind, source
FROM load_source_kinds WHERE part IS NOT NULL AND source_kind <> 'session'
