-- one row per session on comb alone whose yield is known, up to the date $1, the $2 latest
SELECT session, date, comb, method, loaded_g::DOUBLE AS loaded_g, wax_g::DOUBLE AS wax_g FROM yields_by_session
WHERE comb IS NOT NULL AND loaded_g > 0 AND wax_g IS NOT NULL AND NOT list_contains(flags, 'slumgum') AND date <= $1
ORDER BY date DESC, session DESC LIMIT $2
