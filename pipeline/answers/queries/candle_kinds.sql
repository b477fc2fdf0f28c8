-- one row per kind of candle, in the order of its log: its row, what one weighs and takes, and its recipe
SELECT c.*, w.fill_g, w.wax_each_g, w.g_per_ml, w.widest_mm, b.wax_pct, b.oil, b.oil_pct, b.scent, b.scent_pct
FROM candles AS c LEFT JOIN candle_wax AS w USING (candle) LEFT JOIN blends AS b ON b.blend = c.blend
ORDER BY c.row
