-- a pass dated before the pass that it follows
-- severity: warning
-- message: pass {pass} of session {session} is dated {date}, {early_days} before the pass that it follows ({before_date})
-- fix: correct one of the two dates, or the numbers of the passes
-- value: date
-- grows: early_days
-- example: passes: 2025-06-02 -> 2025-05-02
SELECT 'passes' AS log, row, 'date' AS "column", pass, session, date, before_date - date AS early_days, before_date
FROM pass_chain WHERE date < before_date
