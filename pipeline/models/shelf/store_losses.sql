-- one row per harvest that was emptied or closed by the date shown and was not all loaded
-- with: harvest, comb
-- mass_g: harvested - loaded, g; negative where more was loaded
-- with: estimated
SELECT harvest, comb, (harvested_g - loaded_g)::DECIMAL(18, 6) AS mass_g, estimated
FROM harvest_stock
WHERE closed AND harvested_g <> loaded_g
ORDER BY harvest
