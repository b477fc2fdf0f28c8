-- a planned batch whose day has passed
-- severity: note
-- message: batch {batch} was planned for {date}, {past_days} ago: it counts as due today
-- fix: set its status to poured or dropped, or give it a new date
-- value: date
-- example: batches: poured,1 -> planned,
SELECT 'batches' AS log, b.row, 'date' AS "column", b.batch, b.date, s.today - b.date AS past_days
FROM batches AS b, settings AS s WHERE b.status = 'planned' AND b.date < s.today
