-- a wick whose smallest candle is wider than its largest
-- severity: warning
-- message: the wick suits from {from_mm} to {to_mm}, which is no range
-- fix: swap the two, or correct one
-- value: from_mm
-- example: wicks: 20,40 -> 40,20
SELECT 'wicks' AS log, row, 'from_diameter' AS "column", from_diameter_mm AS from_mm, to_diameter_mm AS to_mm
FROM wicks WHERE from_diameter_mm > to_diameter_mm
