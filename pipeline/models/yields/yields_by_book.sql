-- one row: wax won over comb loaded in the whole book
-- kept: as a view
-- sessions: how many sessions have a part in it
-- loaded_g: comb loaded, g
-- wax_g: wax won, followed to its end, g
-- yield: wax / loaded
-- u: standard uncertainty of the yield
-- flags: what applies to one of its sessions; set_aside where wax followed to its end still waits
SELECT
    coalesce(max(sessions), 0) AS sessions, coalesce(max(loaded_g), 0) AS loaded_g, coalesce(max(wax_g), 0) AS wax_g,
    max(yield) AS yield, max(u) AS u, coalesce(max(flags), []) AS flags
FROM yield_groups
WHERE grouping = 'book'
