-- wax on hand block by block; all but the twelve heaviest in one row
WITH heaviest AS (FROM stock_blocks ORDER BY mass_g DESC, block LIMIT 12)
SELECT h.block, b.date, b.colour, b.place, 1 AS blocks, h.mass_g
FROM heaviest AS h JOIN blocks AS b USING (block)
UNION ALL
SELECT NULL, NULL, NULL, NULL, count(*), sum(mass_g) FROM stock_blocks ANTI JOIN heaviest USING (block) HAVING count(*) > 0
ORDER BY block IS NULL, mass_g DESC, block
