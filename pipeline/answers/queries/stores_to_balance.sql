-- one row per harvest and block that has to do with the sessions looked at ($1 latest, or all): loaded, cast, or bought since
SELECT source_kind, source FROM loaded_masses SEMI JOIN sessions_to_balance USING (session) WHERE source_kind <> 'session'
UNION
SELECT 'block', block FROM blocks SEMI JOIN sessions_to_balance USING (session)
UNION
SELECT 'block', block FROM blocks
WHERE session IS NULL AND ($1 IS NULL OR date >= (SELECT min(date) FROM sessions_to_balance))
