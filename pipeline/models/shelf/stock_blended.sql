-- one row per blended block that is on the shelf on the date shown; it counts as no wax
-- with: block, blend
-- mass_g: what is left of it, g
SELECT block, blend, sum(mass_g)::DECIMAL(18, 6) AS mass_g
FROM block_moves
WHERE blend IS NOT NULL
GROUP BY block, blend
HAVING sum(mass_g) <> 0
ORDER BY block
