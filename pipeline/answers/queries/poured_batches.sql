-- one row per batch of a kind of candle, $1, poured up to today: its flaws as logged and its temperatures, oldest first
SELECT b.batch, b.date, b.pour_temp_c, b.scent_temp_c, b.room_temp_c, b.flaws FROM batches AS b CROSS JOIN settings AS s
WHERE b.candle = $1 AND b.status = 'poured' AND b.date <= s.today ORDER BY b.date, b.row
