-- one row per method: the waterfall summed over its sessions
-- kept: as a view
-- method: the method of the first pass
-- sessions: how many sessions it sums
-- loaded_g: everything loaded, g
-- blocks_g: blocks cast, g
-- passed_on_g: wax loaded into other sessions, g
-- set_aside_g: wax that waits, g
-- residue_g: residues weighed, g
-- unaccounted_g: what the passes cannot account for, g
-- handling_g: what went missing between passes, g
-- casting_g: what went missing between the last pass and the blocks, g
SELECT name AS method, sessions, loaded_g, blocks_g, passed_on_g, set_aside_g,
    residue_g, unaccounted_g, handling_g, casting_g
FROM flow_groups
WHERE grouping = 'method'
ORDER BY name
