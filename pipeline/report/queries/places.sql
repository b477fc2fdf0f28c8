-- yield by apiary over the whole book
SELECT apiary, sessions, loaded_g, wax_g, yield, u, flags FROM yields_by_group WHERE grouping = 'apiary' ORDER BY loaded_g DESC, apiary
