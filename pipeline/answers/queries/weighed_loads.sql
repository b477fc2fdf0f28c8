-- one row per load into or out of the sessions looked at, or out of a store looked at; mass as weighed
SELECT row, session, pass, date, source_kind, source, if(source_kind = 'session', part, NULL) AS part,
    mass_g::DOUBLE AS mass_g, emptied
FROM dated_loads
WHERE session IN (SELECT session FROM sessions_to_balance)
    OR (source_kind = 'session' AND source IN (SELECT session FROM sessions_to_balance))
    OR (source_kind, source) IN (FROM stores_to_balance)
ORDER BY row
