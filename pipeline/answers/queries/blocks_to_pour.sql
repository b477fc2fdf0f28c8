-- one row per block of pure wax on the shelf, oldest first
SELECT s.block, b.date, s.mass_g, b.colour FROM stock_blocks AS s JOIN blocks AS b USING (block)
ORDER BY b.date, s.block
