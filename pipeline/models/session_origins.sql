-- one row per session and session of origin: where the comb behind it was rendered first, by mass
-- kept: no
-- session: the session
-- origin: the session that rendered the comb first; missing for wax bought or recovered
-- counted: whether yields may know of it: all comb on the way was weighed
-- share: share of the session's mass
-- alone: whether there is no other behind it: its own comb alone was loaded
WITH RECURSIVE longest AS (
    SELECT count(DISTINCT session) AS steps FROM session_feeds WHERE NOT own  -- bounds the walk in a loop of sources
),
back AS (
    SELECT session, feed, own, known, share::DECIMAL(18, 15) AS share, 0 AS depth FROM session_feeds WHERE NOT alone
    UNION ALL
    SELECT b.session, f.feed, f.own, b.known AND f.known,
        sum((b.share::DOUBLE * f.share)::DECIMAL(18, 15))::DECIMAL(18, 15), b.depth + 1
    FROM back AS b JOIN session_feeds AS f ON f.session = b.feed JOIN longest ON b.depth < steps
    WHERE NOT b.own
    GROUP BY b.session, f.feed, f.own, b.known AND f.known, b.depth
)
SELECT session, feed AS origin, known AS counted, sum(share)::DOUBLE AS share, false AS alone
FROM back
WHERE own OR feed IS NULL
GROUP BY session, feed, known
UNION ALL
SELECT session, feed, known, share, true FROM session_feeds WHERE alone
