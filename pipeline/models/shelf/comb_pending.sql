-- one row per harvest that waits to be rendered on the date shown; what is on hold is left out
-- with: harvest, comb
-- mass_g: comb left, g; missing where it was counted in frames that nothing is known of
-- with: estimated, apiary, hive, wax_expected
SELECT harvest, comb, left_g AS mass_g, estimated AND NOT counted AS estimated, apiary, hive, wax_expected
FROM harvest_stock
WHERE NOT closed AND hold IS NULL AND (left_g > 0 OR left_g IS NULL)
ORDER BY harvest
