-- one row per burn of a test candle up to today, with the size, form and recipe of its candle, in the order of its log
SELECT b.*, c.form, c.blend, c.widest_mm
FROM burns AS b JOIN wax_per_candle AS c USING (candle) CROSS JOIN settings AS s
WHERE b.date <= s.today
ORDER BY b.row
