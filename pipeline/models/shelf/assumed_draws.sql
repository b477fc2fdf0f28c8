-- one row per poured batch that no draw names, up to the date shown: the wax it must have taken
-- batch: the batch
-- with: row, date
-- mass_g: wax of its count of candles, good or not, g
WITH unnamed AS (
    SELECT b.* FROM batches AS b JOIN settings AS s ON b.status = 'poured' AND b.date <= s.on_date
    ANTI JOIN (SELECT d.batch FROM draws AS d JOIN settings AS s ON d.date <= s.on_date) AS d USING (batch)
)
SELECT b.batch, b.row, b.date, try_cast(b.count * c.wax_each_g AS DECIMAL(18, 6)) AS mass_g
FROM unnamed AS b JOIN wax_per_candle AS c USING (candle)
WHERE c.form <> 'rolled' AND mass_g IS NOT NULL
ORDER BY b.date, b.row
