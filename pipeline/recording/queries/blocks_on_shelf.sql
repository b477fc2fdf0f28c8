-- one row per block that lies on the shelf, the latest first
-- name: the block
-- about: wax, or the recipe it was mixed to
-- mass_g: what is left of it, g
SELECT s.block AS name, s.about, s.mass_g
FROM (
    SELECT block, 'wax' AS about, mass_g FROM stock_blocks
    UNION ALL SELECT block, blend, mass_g FROM stock_blended
) AS s JOIN blocks AS b USING (block)
WHERE s.mass_g > 0
ORDER BY b.date DESC, s.block DESC
LIMIT 15
