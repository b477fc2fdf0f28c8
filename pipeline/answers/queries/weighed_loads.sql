-- one row per load into or out of the sessions looked at, or out of a store looked at; mass as weighed
SELECT m.row, m.session, m.pass, m.date, m.source_kind, m.source, if(m.source_kind = 'session', m.part, NULL) AS part,
    l.mass_g::DOUBLE AS mass_g, coalesce(l.emptied, false) AS emptied
FROM loaded_masses AS m JOIN loads AS l USING (row)
WHERE m.session IN (SELECT session FROM sessions_to_balance)
    OR (m.source_kind = 'session' AND m.source IN (SELECT session FROM sessions_to_balance))
    OR (m.source_kind, m.source) IN (FROM stores_to_balance)
ORDER BY m.row
