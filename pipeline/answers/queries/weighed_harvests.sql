-- one row per harvest looked at
SELECT row, harvest, mass_g::DOUBLE AS mass_g FROM harvests
WHERE harvest IN (SELECT source FROM stores_to_balance WHERE source_kind = 'harvest') ORDER BY row
