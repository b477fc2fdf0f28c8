-- a gap in the numbers of a session's passes
-- severity: warning
-- message: pass {pass} of session {session} follows pass {before}: {missing:number is|numbers are} missing
-- message_first: pass {pass} of session {session} comes first: {missing:number is|numbers are} missing
-- fix: add the pass that is missing, or number the passes 1, 2, 3
-- value: pass
-- grows: missing
-- example: passes: S1,2 -> S1,3
SELECT 'passes' AS log, row, 'pass' AS "column", pass, session, before, missing, if(before IS NULL, 'first', NULL) AS variant
FROM (SELECT *, pass - coalesce(before, 0) - 1 AS missing FROM pass_chain) WHERE missing > 0
