-- one row: how far the wax on the shelf may be from its ledger, g (standard uncertainty): by the steps of the scales since the
-- last count of the whole shelf, by their gain, by the 3 % that an unlogged pour may be off (a judgement), and by what
-- counts of the whole shelf have found so far, the first left out, which may have brought wax in
WITH shelf AS MATERIALIZED (SELECT place, kind, block, mass_g FROM shelf_moves),
counts AS (
    SELECT place, mass_g::DOUBLE AS found_g, row_number() OVER (ORDER BY place) AS n
    FROM shelf WHERE kind = 'stocktake' AND block IS NULL
),
moves AS (
    SELECT m.kind, m.mass_g::DOUBLE AS mass_g, CASE m.kind WHEN 'draw' THEN 'draws' WHEN 'load' THEN 'loads'
        WHEN 'stocktake' THEN 'stocktakes' WHEN 'assumed' THEN NULL ELSE 'blocks' END AS log
    FROM shelf AS m
    WHERE m.place >= coalesce((SELECT max(place) FROM counts), 0)
        AND (m.block IS NULL OR m.block IN (SELECT block FROM stock_blocks WHERE mass_g > 0))
)
SELECT sqrt(
    coalesce((SELECT sum(coalesce(s.step_g ** 2 / 12, (0.03 * m.mass_g) ** 2)) FROM moves AS m LEFT JOIN scales AS s USING (log)), 0)
    + (t.total_g::DOUBLE * (SELECT max(relative) FROM scales WHERE log = 'blocks')) ** 2
    + coalesce((SELECT avg(found_g ** 2) FROM counts WHERE n > 1), 0) * (SELECT count(*) > 1 FROM moves)::INTEGER
) AS u_g
FROM stock_total AS t
