-- one row: what went into refining passes and came out as wax up to the date $1, g
SELECT coalesce(sum(in_g), 0) AS in_g, coalesce(sum(wax_g), 0) AS wax_g
FROM pass_steps WHERE stage = 'refining' AND date <= $1
