-- one row per kind of comb that was both weighed and counted in frames: what a frame of it weighs in this book
-- comb: the kind
-- harvests: how many harvests it rests on
-- each_g: g per frame, a ratio of sums
SELECT comb, count(*) AS harvests, sum(mass_g)::DOUBLE / sum(frames)::DOUBLE AS each_g
FROM harvests
WHERE mass_g > 0 AND frames > 0
GROUP BY comb
ORDER BY comb
