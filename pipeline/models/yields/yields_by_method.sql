-- one row per method: wax won over comb loaded
-- kept: as a view
-- method: the method, with (slumgum) behind it where slumgum was melted
-- sessions: how many sessions have a part in it
-- loaded_g: comb loaded, g; slumgum in its own rows
-- wax_g: wax won, followed to its end, g
-- yield: wax / loaded
-- u: standard uncertainty of the yield
-- flags: what applies to one of its sessions; set_aside where wax followed to its end still waits
SELECT name AS method, sessions, loaded_g, wax_g, yield, u, flags
FROM yield_groups
WHERE grouping = 'method'
ORDER BY name
