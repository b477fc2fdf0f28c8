-- one row per harvest on hold on the date shown: comb that must not be rendered or sold
-- with: harvest, comb
-- mass_g: comb left, g
-- with: estimated, hold
SELECT harvest, comb, left_g AS mass_g, estimated AND NOT counted AS estimated, hold
FROM harvest_stock
WHERE NOT closed AND hold IS NOT NULL AND (left_g > 0 OR left_g IS NULL)
ORDER BY harvest
