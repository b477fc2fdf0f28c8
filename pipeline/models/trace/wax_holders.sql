-- one row per thing that holds or held wax on the date shown, and how much
-- kept: as a view
-- kind: session, block, draw, batch or sale
-- with: id, date
-- candle: the kind of candle, of batches and sales
-- wax_g: its wax, g: what a session gave, what a block weighed, what was drawn; missing where not logged
WITH drawn AS (
    SELECT m.row, m.date, d.batch, -m.mass_g AS mass_g FROM block_moves AS m JOIN draws AS d USING (row) WHERE m.kind = 'draw'
),
poured AS (
    SELECT b.batch, b.date, b.candle, sum(d.mass_g) AS wax_g, any_value(coalesce(b.good, b.count)) AS good
    FROM batches AS b LEFT JOIN drawn AS d USING (batch) GROUP BY ALL
)
SELECT 'session' AS kind, session AS id, last_date AS date, NULL AS candle,
    if(blocks_g + passed_on_g + set_aside_g > 0, blocks_g + passed_on_g + set_aside_g, last_wax_g)::DOUBLE AS wax_g
FROM session_wax
UNION ALL SELECT 'block', block, date, NULL, mass_g::DOUBLE FROM blocks
UNION ALL SELECT 'draw', row::VARCHAR, date, NULL, mass_g::DOUBLE FROM drawn
UNION ALL SELECT 'batch', batch, date, candle, wax_g::DOUBLE FROM poured
UNION ALL SELECT 'sale', s.row::VARCHAR, s.date, s.candle, p.wax_g::DOUBLE * s.count / nullif(p.good, 0)
FROM sales AS s LEFT JOIN poured AS p ON p.batch = s.batch
