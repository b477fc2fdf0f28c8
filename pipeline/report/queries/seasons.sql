-- yield of every season
SELECT season, sessions, loaded_g, wax_g, yield, u, flags FROM yields_by_group WHERE grouping = 'season' ORDER BY season
