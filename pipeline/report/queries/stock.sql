-- wax on hand
SELECT on_date, total_g, unplaced_g FROM stock_total
