-- one row per load: which record its source names
-- kept: no
-- row: the load's row in loads
-- session: the session it went into
-- pass: the pass it went into, 1 where none is given
-- named: the source as written
-- matches: how many of harvests, blocks and sessions carry that very id
-- source_kind: harvest, block or session; missing where the source cannot be told
-- source: the id of that record
WITH split AS (
    SELECT row, session, coalesce(pass, 1) AS pass, source AS named,
        substr(source, 1, strpos(source, ' ') - 1) AS prefix, substr(source, strpos(source, ' ') + 1) AS rest
    FROM loads
),
told AS (
    SELECT named AS id FROM split UNION SELECT rest FROM split
),
ids AS (
    SELECT DISTINCT harvest AS id, 'harvest' AS kind FROM harvests WHERE harvest IN (FROM told)
    UNION ALL SELECT DISTINCT block, 'block' FROM blocks WHERE block IN (FROM told)
    UNION ALL SELECT DISTINCT session, 'session' FROM passes WHERE session IN (FROM told)
),
exact AS (
    SELECT id, count(*) AS matches, min(kind) AS kind FROM ids GROUP BY id
),
linked AS (
    SELECT s.*, coalesce(e.matches, 0) AS matches,
        CASE
            WHEN e.matches = 1 THEN e.kind
            WHEN e.matches IS NULL AND i.id IS NOT NULL THEN i.kind
            -- where no harvests are logged, what is no block or session is taken for comb of a kind unknown
            WHEN e.matches IS NULL AND NOT EXISTS (FROM harvests) THEN 'harvest'
        END AS source_kind,
        e.matches IS NULL AND i.id IS NOT NULL AS by_prefix
    FROM split AS s
    LEFT JOIN exact AS e ON e.id = s.named
    LEFT JOIN ids AS i ON i.id = s.rest AND i.kind = s.prefix
)
SELECT row, session, pass, named, matches, source_kind,
    CASE WHEN source_kind IS NOT NULL THEN if(by_prefix, rest, named) END AS source
FROM linked
