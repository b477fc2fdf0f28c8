-- a wick whose smallest candle is wider than its largest
-- severity: warning
SELECT 'wicks' AS log, row, 'from_diameter' AS "column", printf('%.0f mm', from_diameter_mm) AS value,
    printf('the wick suits from %.0f mm to %.0f mm, which is no range', from_diameter_mm, to_diameter_mm) AS message,
    'swap the two, or correct one' AS fix
FROM wicks WHERE from_diameter_mm > to_diameter_mm
