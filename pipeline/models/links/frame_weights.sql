-- one row per kind of comb that was both weighed and counted in frames: what a frame of it weighs in this book
-- kept: no
-- with: comb
-- harvests: how many harvests it rests on
-- each_g: g per frame, a ratio of sums
-- each_upto_g: the same by the harvests up to the date shown
SELECT
    h.comb, count(*) AS harvests, sum(h.mass_g)::DOUBLE / sum(h.frames)::DOUBLE AS each_g,
    sum(h.mass_g) FILTER (h.date <= s.on_date)::DOUBLE
        / sum(h.frames) FILTER (h.date <= s.on_date)::DOUBLE AS each_upto_g
FROM harvests AS h CROSS JOIN settings AS s
WHERE h.mass_g > 0 AND h.frames > 0
GROUP BY h.comb
