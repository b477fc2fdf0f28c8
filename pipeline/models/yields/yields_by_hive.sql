-- one row per hive of an apiary: wax won over comb loaded
-- kept: as a view
-- apiary: the apiary; missing where not logged
-- hive: the hive; missing where not logged
-- sessions: how many sessions have a part in it
-- loaded_g: comb loaded, g
-- wax_g: wax won, followed to its end, g
-- yield: wax / loaded
-- u: standard uncertainty of the yield
-- flags: what applies to one of its sessions; set_aside where wax followed to its end still waits
SELECT apiary, name AS hive, sessions, loaded_g, wax_g, yield, u, flags
FROM yield_groups
WHERE grouping = 'hive'
ORDER BY apiary, name
