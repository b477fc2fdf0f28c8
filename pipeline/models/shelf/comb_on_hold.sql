-- one row per harvest on hold on the date shown: comb that must not be rendered or sold
-- harvest: the harvest
-- comb: the kind of comb
-- mass_g: comb left, g
-- estimated: whether the mass rests on frames
-- hold: why it is held
SELECT harvest, comb, left_g AS mass_g, estimated, hold
FROM harvest_stock
WHERE NOT closed AND hold IS NOT NULL AND (left_g > 0 OR left_g IS NULL)
ORDER BY harvest
