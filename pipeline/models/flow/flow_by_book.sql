-- one row: the waterfall summed over all sessions
-- kept: as a view
-- sessions: how many sessions it sums
-- loaded_g: everything loaded, g
-- blocks_g: blocks cast, g
-- passed_on_g: wax loaded into other sessions, g
-- set_aside_g: wax that waits, g
-- residue_g: residues weighed, g
-- unaccounted_g: what the passes cannot account for, g
-- handling_g: what went missing between passes, g
-- casting_g: what went missing between the last pass and the blocks, g
SELECT
    coalesce(max(sessions), 0) AS sessions, coalesce(max(loaded_g), 0) AS loaded_g,
    coalesce(max(blocks_g), 0) AS blocks_g, coalesce(max(passed_on_g), 0) AS passed_on_g,
    coalesce(max(set_aside_g), 0) AS set_aside_g, coalesce(max(residue_g), 0) AS residue_g,
    coalesce(max(unaccounted_g), 0) AS unaccounted_g, coalesce(max(handling_g), 0) AS handling_g,
    coalesce(max(casting_g), 0) AS casting_g
FROM flow_groups
WHERE grouping = 'book'
