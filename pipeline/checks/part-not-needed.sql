-- a part named for a source that has none
-- severity: warning
SELECT 'loads' AS log, row, 'part' AS "column", part AS value,
    'part says ' || part || ', but the source is ' || source_kind || ' ' || source || ', which has no parts' AS message,
    'take the part out, or name the session that the ' || part || ' came from' AS fix
FROM load_links WHERE part IS NOT NULL AND source_kind <> 'session'
