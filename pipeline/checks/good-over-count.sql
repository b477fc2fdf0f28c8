-- more candles came out right than were poured
-- severity: warning
-- message: {good} good candles are {over} more than the {count} poured
-- fix: compare good with count
-- value: good
-- grows: over
-- example: batches: poured,1 -> poured,3
SELECT 'batches' AS log, row, 'good' AS "column", good, good - count AS over, count FROM batches WHERE good > count
