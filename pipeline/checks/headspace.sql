-- a candle with more headspace than height
-- severity: warning
SELECT 'candles' AS log, row, 'headspace' AS "column", printf('%.0f mm', headspace_mm) AS value,
    printf('a headspace of %.0f mm leaves nothing of a height of %.0f mm', headspace_mm, height_mm) AS message,
    'headspace is measured from the fill line up to the rim' AS fix
FROM candles WHERE headspace_mm >= height_mm
