-- sessions that feed one another in a loop
-- severity: error
-- message: session {taker} loads from {giver}, which itself came from {taker}
-- message_itself: session {taker} loads wax that came from itself
-- fix: correct the source or the session: wax cannot come from its own future
-- value: giver
-- example: passes + S2,1,2025-06-10,steam,,100,5, && loads + S2,S1,slumgum,100, && loads + S1,S2,slumgum,5,
WITH RECURSIVE started AS (
    SELECT session, min(date) AS date FROM passes GROUP BY session
),
feeds AS (
    SELECT source AS giver, session AS taker, row FROM load_source_kinds WHERE source_kind = 'session' AND source <> session
    UNION
    SELECT b.session, l.session, l.row FROM load_source_kinds AS l JOIN blocks AS b ON b.block = l.source
    WHERE l.source_kind = 'block' AND b.session IS NOT NULL
),
late AS (  -- a loop has at least one feed that does not go forward in time
    SELECT f.* FROM feeds AS f
    JOIN started AS g ON g.session = f.giver JOIN started AS t ON t.session = f.taker
    WHERE g.date >= t.date OR g.date IS NULL OR t.date IS NULL
),
reached AS (
    SELECT taker AS start, taker AS session FROM late
    UNION
    SELECT r.start, f.taker FROM reached AS r JOIN feeds AS f ON f.giver = r.session
)
SELECT DISTINCT 'loads' AS log, l.row, 'source' AS "column", l.giver, l.taker, if(l.giver = l.taker, 'itself', NULL) AS variant
FROM late AS l JOIN reached AS r ON r.start = l.taker AND r.session = l.giver
