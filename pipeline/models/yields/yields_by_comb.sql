-- one row per comb: wax won over comb loaded
-- kept: as a view
-- comb: the kind of comb; mixed where none makes up 90 %
-- sessions: how many sessions have a part in it
-- loaded_g: comb loaded, g
-- wax_g: wax won, followed to its end, g
-- yield: wax / loaded
-- u: standard uncertainty of the yield
-- flags: what applies to one of its sessions; set_aside where wax followed to its end still waits
SELECT name AS comb, sessions, loaded_g, wax_g, yield, u, flags
FROM yield_groups
WHERE grouping = 'comb'
ORDER BY name
