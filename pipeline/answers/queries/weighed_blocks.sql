-- one row per block looked at
SELECT row, block, session, date, blend, mass_g::DOUBLE AS mass_g FROM blocks
WHERE block IN (SELECT source FROM stores_to_balance WHERE source_kind = 'block') ORDER BY row
