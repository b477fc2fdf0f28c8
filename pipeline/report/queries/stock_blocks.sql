-- wax on hand block by block; all but the twelve heaviest in one row
WITH ranked AS (
    SELECT s.block, s.mass_g, b.date, b.colour, b.place AS kept,
        least(row_number() OVER (ORDER BY s.mass_g DESC, s.block), 13) AS line
    FROM stock_blocks AS s JOIN blocks AS b USING (block)
)
SELECT if(line < 13, min(block), NULL) AS block, if(line < 13, min(date), NULL) AS date,
    if(line < 13, min(colour), NULL) AS colour, if(line < 13, min(kept), NULL) AS place,
    count(*) AS blocks, sum(mass_g) AS mass_g
FROM ranked GROUP BY line ORDER BY line
