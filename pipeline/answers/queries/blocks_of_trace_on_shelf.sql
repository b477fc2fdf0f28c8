-- one row per block named that is still on the shelf, blended ones too
SELECT block, mass_g FROM stock_blocks WHERE mass_g > 0 AND list_contains($1, block)
UNION ALL SELECT block, mass_g FROM stock_blended WHERE mass_g > 0 AND list_contains($1, block)
ORDER BY block
