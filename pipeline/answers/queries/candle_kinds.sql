-- one row per kind of candle, in the order of its log: its row, what one weighs and takes, and its recipe
SELECT c.*, w.fill_g, w.wax_each_g, w.g_per_ml, w.widest_mm, w.wax_share, w.oil_share, w.scent_share, b.oil, b.scent
FROM candles AS c LEFT JOIN wax_per_candle AS w USING (candle) LEFT JOIN blends AS b ON b.blend = c.blend
ORDER BY c.row
