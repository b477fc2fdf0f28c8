-- a candle measured across but not in height
-- severity: error
SELECT 'candles' AS log, row, 'height' AS "column", NULL::VARCHAR AS value,
    candle || ' has a diameter but no height, so its size is not known' AS message,
    'add its height, or weigh one finished candle and write fill_mass instead' AS fix
FROM candles WHERE diameter_mm IS NOT NULL AND height_mm IS NULL AND fill_mass_g IS NULL AND fill_volume_ml IS NULL AND NOT bad
