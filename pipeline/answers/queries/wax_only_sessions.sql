-- one row per session up to the date $1 that refined wax alone: what went in, and what was cast, went on or waits, g
SELECT loaded_g::DOUBLE AS in_g, (blocks_g + passed_on_g + set_aside_g)::DOUBLE AS wax_g
FROM session_wax WHERE wax_only AND loaded_g > 0 AND date <= $1 ORDER BY date, session
