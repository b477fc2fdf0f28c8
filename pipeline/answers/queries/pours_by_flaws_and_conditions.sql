-- one row per flaws as logged and set of what may have caused them, of the batches poured up to today: how many, and those
-- of which something was logged, by their rows
SELECT b.flaws, b.pour_temp_c, b.scent_temp_c, b.room_temp_c, x.widest_mm AS diameter_mm, coalesce(r.oil_pct, 0) AS oil_pct,
    coalesce(r.scent_pct, 0) AS scent_pct, w.from_diameter_mm - x.widest_mm AS wick_from_over_mm,
    x.widest_mm - w.to_diameter_mm AS wick_to_under_mm, count(*) AS batches,
    coalesce(list((b.row, b.batch)) FILTER (b.flaws IS NOT NULL), []) AS logged
FROM batches AS b JOIN candles AS c USING (candle) JOIN wax_per_candle AS x USING (candle) CROSS JOIN settings AS s
LEFT JOIN blends AS r ON r.blend = c.blend LEFT JOIN wicks AS w ON w.wick = c.wick
WHERE b.status = 'poured' AND b.date <= s.today
GROUP BY ALL ORDER BY min(b.row)
