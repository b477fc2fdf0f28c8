-- one row: pure wax on the shelf on the date shown
-- on_date: the date
-- total_g: wax on hand, g
-- unplaced_g: of it what belongs to no block: counts of the whole shelf and assumed draws, g
SELECT
    s.on_date,
    coalesce(sum(m.mass_g), 0)::DECIMAL(18, 6) AS total_g,
    coalesce(sum(m.mass_g) FILTER (m.block IS NULL), 0)::DECIMAL(18, 6) AS unplaced_g
FROM settings AS s
LEFT JOIN shelf_moves AS m ON true
GROUP BY s.on_date
