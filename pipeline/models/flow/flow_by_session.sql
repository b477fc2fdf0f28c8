-- one row per session: the waterfall
-- kept: as a view
-- session: the session
-- loaded_g: everything loaded, g
-- blocks_g: blocks cast, g
-- passed_on_g: wax loaded into other sessions, g
-- set_aside_g: wax that waits, g
-- residue_g: residues weighed, g
-- unaccounted_g: what the passes cannot account for, g
-- handling_g: what went missing between passes, g
-- casting_g: what went missing between the last pass and the blocks, g
SELECT session, loaded_g, blocks_g, passed_on_g, set_aside_g,
    residue_g, unaccounted_g, handling_g, casting_g
FROM session_flow
ORDER BY session
