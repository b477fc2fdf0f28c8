-- one row per batch poured up to today: its flaws as logged, and what may have caused them
SELECT b.batch, b.date, b.candle, b.flaws, b.pour_temp_c, b.scent_temp_c, b.room_temp_c, coalesce(b.good, b.count) AS good, b.count,
    x.widest_mm AS diameter_mm, coalesce(r.oil_pct, 0) AS oil_pct,
    coalesce(r.scent_pct, 0) AS scent_pct, w.from_diameter_mm - x.widest_mm AS wick_from_over_mm,
    x.widest_mm - w.to_diameter_mm AS wick_to_under_mm
FROM batches AS b JOIN candles AS c USING (candle) JOIN wax_per_candle AS x USING (candle) CROSS JOIN settings AS s
LEFT JOIN blends AS r ON r.blend = c.blend LEFT JOIN wicks AS w ON w.wick = c.wick
WHERE b.status = 'poured' AND b.date <= s.today
ORDER BY b.row
