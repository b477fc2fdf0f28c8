-- one row per harvest up to the date shown that was both weighed and counted in frames
SELECT h.comb, h.frames::DOUBLE AS frames, h.mass_g::DOUBLE AS mass_g
FROM harvests AS h JOIN settings AS s ON h.date <= s.on_date
WHERE h.mass_g > 0 AND h.frames > 0 ORDER BY h.row
