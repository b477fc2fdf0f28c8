-- one row: how far the wax on the shelf may be from its ledger, g (standard uncertainty): by the steps of the scales since the
-- last count of the whole shelf, by their gain, by the 3 % that an unlogged pour may be off (a judgement), and by what
-- counts of the whole shelf have found so far ($1: the mean of the squares, g^2)
WITH last_count AS (
    SELECT max((t.date, 4, 0, t.row)) AS place FROM stocktake_items AS t JOIN settings AS s ON t.date <= s.on_date
    WHERE t.item_kind = 'shelf' AND t.mass_g IS NOT NULL
),
shelf AS (  -- each movement with its place in the ledger
    SELECT (date, turn, rank, row) AS place, mass_g, CASE kind WHEN 'draw' THEN 'draws' WHEN 'load' THEN 'loads'
        WHEN 'stocktake' THEN 'stocktakes' ELSE 'blocks' END AS log
    FROM block_moves WHERE blend IS NULL AND block IN (SELECT block FROM stock_blocks WHERE mass_g > 0)
    UNION ALL SELECT (date, 1, 3, row), mass_g, NULL FROM assumed_draws
    UNION ALL SELECT place, NULL, 'stocktakes' FROM last_count WHERE place IS NOT NULL
),
moves AS (
    SELECT s.log, s.mass_g::DOUBLE AS mass_g FROM shelf AS s CROSS JOIN last_count AS c
    WHERE c.place IS NULL OR s.place >= c.place
)
SELECT sqrt(
    coalesce((SELECT sum(coalesce(s.step_g ** 2 / 12, (0.03 * m.mass_g) ** 2)) FROM moves AS m LEFT JOIN scales AS s USING (log)), 0)
    + (t.total_g::DOUBLE * (SELECT max(relative) FROM scales WHERE log = 'blocks')) ** 2
    + $1 * (SELECT count(*) > 1 FROM moves)::INTEGER
) AS u_g
FROM stock_total AS t
