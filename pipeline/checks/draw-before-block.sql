-- a draw dated before its block was there
-- severity: warning
-- message: block {block} was taken from on {date}, {early_days} before it was there ({born})
-- fix: correct one of the two dates, or the block
-- value: date
-- grows: early_days
-- example: draws: 2025-07-01 -> 2025-06-01
SELECT 'draws' AS log, d.row, 'date' AS "column", d.block, d.date, b.date - d.date AS early_days, b.date AS born
FROM draws AS d JOIN blocks AS b USING (block) WHERE d.date < b.date
