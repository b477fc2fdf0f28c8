-- one row per session: wax won over comb and slumgum loaded, at face value
-- kept: as a view
-- session: the session
-- loaded_g: comb and slumgum loaded, g; missing where not known
-- wax_g: blocks + passed on + set aside - wax loaded, g
-- yield: wax / loaded; missing where wax alone was loaded
-- u: standard uncertainty of the yield
-- flags: slumgum, wax_loaded, set_aside, unweighed, where they apply
SELECT session, loaded_g, wax_g, yield, u, flags
FROM session_yields
ORDER BY session
