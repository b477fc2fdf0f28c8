-- one row per session that not its own comb alone fed, and session of origin: where the comb behind it was rendered first
-- kept: no
-- with: session, origin
-- counted: whether yields may know of it: all comb on the way was weighed
-- share: share of the session's mass
WITH RECURSIVE feeds AS (
    FROM session_feeds
    UNION ALL
    SELECT session, session, true, known, 1 FROM session_loads WHERE own_comb
),
longest AS (
    SELECT count(DISTINCT session) AS steps FROM session_feeds WHERE NOT own  -- bounds the walk in a loop of sources
),
back AS (
    SELECT session, feed, own, known, share::DECIMAL(18, 15) AS share, 0 AS depth FROM session_feeds
    UNION ALL
    SELECT b.session, f.feed, f.own, b.known AND f.known,
        sum((b.share::DOUBLE * f.share)::DECIMAL(18, 15))::DECIMAL(18, 15), b.depth + 1
    FROM back AS b JOIN feeds AS f ON f.session = b.feed JOIN longest ON b.depth < steps
    WHERE NOT b.own
    GROUP BY b.session, f.feed, f.own, b.known AND f.known, b.depth
)
SELECT session, feed AS origin, known AS counted, sum(share)::DOUBLE AS share
FROM back
WHERE own OR feed IS NULL
GROUP BY session, feed, known
