-- one row: pure wax on the shelf on the date shown
-- on_date: the date
-- total_g: wax on hand, g
-- unplaced_g: of it what belongs to no block: counts of the whole shelf and assumed draws, g
WITH placed AS (
    SELECT coalesce(sum(mass_g), 0) AS mass_g FROM stock_blocks
),
shelf AS (
    SELECT coalesce(arg_max(total_g, date), 0) AS total_g FROM shelf_days
)
SELECT s.on_date, h.total_g::DECIMAL(18, 6) AS total_g, (h.total_g - p.mass_g)::DECIMAL(18, 6) AS unplaced_g
FROM settings AS s, placed AS p, shelf AS h
