-- one row per draw from a block looked at
SELECT row, block, date, mass_g::DOUBLE AS mass_g FROM draws
WHERE block IN (SELECT source FROM stores_to_balance WHERE source_kind = 'block') ORDER BY row
