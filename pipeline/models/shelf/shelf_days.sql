-- one row per day on which pure wax came, went or was counted, up to the date shown
-- with: date
-- in_g: wax that came, g
-- out_g: wax that went, g
-- low_g: wax on the shelf before anything was counted that day, g
-- total_g: wax on the shelf at its end, g
WITH counts AS (  -- the last count of the whole shelf on its day: what was counted after it still changes a block
    SELECT t.date, max(t.row) AS row, arg_max(t.mass_g, t.row) AS counted_g
    FROM stocktake_items AS t JOIN settings AS s ON t.date <= s.on_date
    WHERE t.item_kind = 'shelf' AND t.mass_g IS NOT NULL
    GROUP BY t.date
),
moves AS (
    SELECT date, turn, row, mass_g FROM block_moves WHERE blend IS NULL
    UNION ALL SELECT date, 1, NULL, -mass_g FROM assumed_draws
    UNION ALL SELECT date, 4, NULL, NULL FROM counts
),
days AS (
    SELECT date, sum(mass_g) FILTER (turn = 0) AS in_g, -sum(mass_g) FILTER (turn BETWEEN 1 AND 3) AS out_g,
        sum(mass_g) FILTER (turn < 4) AS moved_g, sum(mass_g) FILTER (turn = 4) AS found_g, any_value(counted_g) AS counted_g,
        sum(mass_g) FILTER (turn = 4 AND row > last_count) AS after_g
    FROM moves LEFT JOIN (SELECT date, row AS last_count, counted_g FROM counts) USING (date)
    GROUP BY date
),
eras AS (
    SELECT *, count(counted_g) OVER (ORDER BY date ROWS UNBOUNDED PRECEDING) AS era,
        coalesce(counted_g, coalesce(moved_g, 0)) + coalesce(if(counted_g IS NULL, found_g, after_g), 0) AS step_g
    FROM days
),
totals AS (
    SELECT *, sum(step_g) OVER (PARTITION BY era ORDER BY date ROWS UNBOUNDED PRECEDING) AS total_g FROM eras
)
SELECT date, coalesce(in_g, 0)::DECIMAL(18, 6) AS in_g, coalesce(out_g, 0)::DECIMAL(18, 6) AS out_g,
    (lag(total_g, 1, 0) OVER (ORDER BY date) + coalesce(moved_g, 0))::DECIMAL(18, 6) AS low_g,
    total_g::DECIMAL(18, 6) AS total_g
FROM totals
ORDER BY date
