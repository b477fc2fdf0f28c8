-- a candle measured across but not in height
-- severity: error
-- message: {candle} has a diameter but no height, so its size is not known
-- fix: add its height, or weigh one finished candle and write fill_mass instead
-- example: candles: 50,, -> ,60,
SELECT 'candles' AS log, row, 'height' AS "column", candle
FROM candles WHERE diameter_mm IS NOT NULL AND height_mm IS NULL AND fill_mass_g IS NULL AND fill_volume_ml IS NULL AND NOT bad
