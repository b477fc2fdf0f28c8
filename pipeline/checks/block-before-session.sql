-- a block dated before the last pass that it was cast from
-- severity: warning
-- message: block {block} is dated {date}, {early_days} before the last pass of session {session} ({last_date})
-- fix: correct one of the two dates
-- value: date
-- grows: early_days
-- example: blocks: B1,2025-06-03 -> B1,2025-06-01
SELECT 'blocks' AS log, b.row, 'date' AS "column", b.block, b.date, s.last_date - b.date AS early_days, b.session, s.last_date
FROM blocks AS b JOIN session_wax AS s USING (session) WHERE b.date < s.last_date
