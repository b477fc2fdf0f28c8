-- one row per session: wax won over comb and slumgum loaded, at face value, and how sure its weighings make it
-- with: session, date, season, method, comb
-- loaded_g: comb and slumgum loaded, g; missing where not known
-- with: wax_g, yield, u, flags
SELECT w.session, w.date, w.season, w.method, w.comb, w.fed_g AS loaded_g, n.wax_g, n.yield,
    sqrt((n.wax_u2 + n.yield ** 2 * n.loads * n.load_u2) / w.fed_g::DOUBLE ** 2 + n.yield ** 2 * g.gains_u2) AS u,
    flags_of(n.has_slumgum, n.has_wax, w.set_aside_g > 0, n.unweighed) AS flags
FROM session_wax AS w JOIN session_won AS n USING (session) JOIN yield_scale_uncertainty AS g USING (by_loads, by_blocks, by_passes)
ORDER BY w.session
