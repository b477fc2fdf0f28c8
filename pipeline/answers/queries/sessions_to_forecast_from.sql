-- one row per session on comb alone whose yield is known, up to the date $1, the $2 latest
WITH latest AS (
    SELECT session, date, comb, method, loaded_g, wax_g, season FROM yields_by_session
    WHERE comb IS NOT NULL AND loaded_g > 0 AND wax_g IS NOT NULL AND NOT list_contains(flags, 'slumgum') AND date <= $1
    ORDER BY date DESC, session DESC LIMIT $2
)
SELECT y.session, y.date, y.comb, y.method, y.loaded_g::DOUBLE AS loaded_g, y.wax_g::DOUBLE AS wax_g, y.season,
    2 * (w.passed_on_g + w.set_aside_g) > y.wax_g AS refined_later
FROM latest AS y JOIN session_wax AS w USING (session)
ORDER BY y.date DESC, y.session DESC
