-- one row per harvest that waits to be rendered on the date shown; what is on hold is left out
-- harvest: the harvest
-- comb: the kind of comb
-- mass_g: comb left, g; missing where it was counted in frames that nothing is known of
-- estimated: whether the mass rests on frames
-- apiary: the apiary
-- hive: the hive
-- wax_expected: when its wax is expected; missing: at once
SELECT harvest, comb, left_g AS mass_g, estimated, apiary, hive, wax_expected
FROM harvest_stock
WHERE NOT closed AND hold IS NULL AND (left_g > 0 OR left_g IS NULL)
ORDER BY harvest
