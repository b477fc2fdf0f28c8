-- one row per movement of pure wax on the shelf, in order, up to the date shown
-- kept: as a view
-- place: its place in the ledger, from 1
-- with: date, turn
-- kind: cast, bought, recovered, draw, load, emptied, assumed or stocktake
-- block: the block; missing for assumed draws and counts of the whole shelf
-- batch: the batch of an assumed draw
-- mass_g: what it added to the shelf (negative: took), g
-- total_g: wax on the shelf after it, g
WITH moves AS (
    SELECT date, turn, rank, row, kind, block, NULL AS batch, mass_g, NULL::DECIMAL(18, 6) AS counted_g
    FROM block_moves WHERE blend IS NULL
    UNION ALL SELECT date, 1, 3, row, 'assumed', NULL, batch, -mass_g, NULL FROM assumed_draws
    UNION ALL SELECT t.date, 4, 0, t.row, 'stocktake', NULL, NULL, NULL, t.mass_g
    FROM stocktake_items AS t JOIN settings AS s ON t.date <= s.on_date
    WHERE t.item_kind = 'shelf' AND t.mass_g IS NOT NULL
),
placed AS (
    SELECT *, row_number() OVER () AS place, count(counted_g) OVER (ROWS UNBOUNDED PRECEDING) AS counts,
        sum(coalesce(mass_g, 0)) OVER (ROWS UNBOUNDED PRECEDING) AS moved_g
    FROM (FROM moves ORDER BY date, turn, rank, row)
),
counted AS (  -- what each count of the whole shelf found beyond all movements, and beyond the count before
    SELECT counts, counted_g - moved_g AS beyond_g, beyond_g - lag(beyond_g, 1, 0) OVER (ORDER BY counts) AS change_g
    FROM placed WHERE counted_g IS NOT NULL
)
SELECT place, date, turn, kind, block, batch, coalesce(mass_g, change_g)::DECIMAL(18, 6) AS mass_g,
    (moved_g + coalesce(beyond_g, 0))::DECIMAL(18, 6) AS total_g
FROM placed LEFT JOIN counted USING (counts)
ORDER BY place
