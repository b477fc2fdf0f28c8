-- a part named for a source that has none
-- severity: warning
SELECT 'loads' AS log, l.row, 'part' AS "column", l.part AS value,
    'part says ' || l.part || ', but the source is ' || k.source_kind || ' ' || k.source || ', which has no parts' AS message,
    'take the part out, or name the session that the ' || l.part || ' came from' AS fix
FROM loads AS l JOIN load_links AS k USING (row) WHERE l.part IS NOT NULL AND k.source_kind <> 'session'
