-- wax on hand block by block
SELECT s.block, s.mass_g, b.date, b.colour, b.place FROM stock_blocks AS s JOIN blocks AS b USING (block)
ORDER BY s.mass_g DESC, s.block
