-- one row per harvest looked at
SELECT row, harvest, mass_g::DOUBLE AS mass_g FROM harvests
WHERE harvest IN (SELECT source FROM looked_stores WHERE source_kind = 'harvest') ORDER BY row
