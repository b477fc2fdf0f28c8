-- one row per block of pure wax that is on the shelf on the date shown
-- with: block
-- mass_g: what is left of it, g; negative where more was taken than it weighed
SELECT block, sum(mass_g)::DECIMAL(18, 6) AS mass_g
FROM block_moves
WHERE blend IS NULL
GROUP BY block
HAVING sum(mass_g) <> 0
ORDER BY block
