-- sessions that feed one another in a loop
-- severity: error
WITH RECURSIVE started AS (
    SELECT session, min(date) AS date FROM passes GROUP BY session
),
feeds AS (
    SELECT source AS giver, session AS taker, row FROM load_links WHERE source_kind = 'session' AND source <> session
    UNION
    SELECT b.session, l.session, l.row FROM load_links AS l JOIN blocks AS b ON b.block = l.source
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
SELECT 'loads' AS log, l.row, 'source' AS "column", l.giver AS value,
    if(l.giver = l.taker, 'session ' || l.taker || ' loads wax that came from itself',
       'session ' || l.taker || ' loads from ' || l.giver || ', which itself came from ' || l.taker) AS message,
    'correct the source or the session: wax cannot come from its own future' AS fix
FROM late AS l JOIN reached AS r ON r.start = l.taker AND r.session = l.giver
GROUP BY ALL
