-- one row per poured batch that no draw names, up to the date shown: the wax it must have taken
-- batch: the batch
-- row: its row in batches
-- date: the day of the pour
-- mass_g: wax of its count of candles, good or not, g
SELECT b.batch, b.row, b.date, try_cast(b.count * c.wax_each_g AS DECIMAL(18, 6)) AS mass_g
FROM batches AS b
JOIN candle_wax AS c USING (candle)
CROSS JOIN settings AS s
WHERE b.status = 'poured' AND b.date <= s.on_date AND c.form <> 'rolled' AND try_cast(b.count * c.wax_each_g AS DECIMAL(18, 6)) IS NOT NULL
    AND NOT EXISTS (FROM draws AS d WHERE d.batch = b.batch AND d.date <= s.on_date)
ORDER BY b.date, b.row
