-- a candle with more headspace than height
-- severity: warning
-- message: a headspace of {headspace_mm} leaves nothing of a height of {height_mm}
-- fix: measure headspace from the fill line up to the rim
-- value: headspace_mm
-- example: candles: 50,,, -> ,60,50,60
SELECT 'candles' AS log, row, 'headspace' AS "column", headspace_mm, height_mm
FROM candles WHERE headspace_mm >= height_mm
