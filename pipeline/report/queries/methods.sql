-- yield by method over the whole book
SELECT method, sessions, loaded_g, wax_g, yield, u, flags FROM yields_by_group WHERE grouping = 'method' ORDER BY loaded_g DESC, method
