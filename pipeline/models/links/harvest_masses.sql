-- one row per harvest: what it weighs, by the scale or by its frames
-- kept: no
-- with: harvest, date, comb
-- mass_g: its mass, g; missing where it was counted in frames and no harvest of its kind was weighed and counted
-- upto_g: the same, frames weighed by the harvests up to the date shown, g
-- with: estimated
SELECT
    h.harvest, h.date, h.comb,
    coalesce(h.mass_g, try_cast(h.frames * w.each_g AS DECIMAL(18, 6))) AS mass_g,
    coalesce(h.mass_g, try_cast(h.frames * w.each_upto_g AS DECIMAL(18, 6))) AS upto_g,
    h.mass_g IS NULL AS estimated
FROM harvests AS h
LEFT JOIN frame_weights AS w ON w.comb = h.comb
