-- one row per session on comb alone whose yield is known, up to the date $1, the $2 latest
SELECT y.session, y.date, y.comb, y.method, y.loaded_g::DOUBLE AS loaded_g, y.wax_g::DOUBLE AS wax_g, y.season,
    2 * (w.passed_on_g + w.set_aside_g) > y.wax_g AS refined_later
FROM yields_by_session AS y JOIN session_wax AS w USING (session)
WHERE y.comb IS NOT NULL AND y.loaded_g > 0 AND y.wax_g IS NOT NULL AND NOT list_contains(y.flags, 'slumgum')
    AND y.date <= $1
ORDER BY y.date DESC, y.session DESC LIMIT $2
