-- one row per load: what was loaded, and which record its source names
-- kept: no
-- with: row, session, pass
-- named: the source as written
-- matches: how many of harvests, blocks and sessions carry that very id
-- with: source_kind, source
-- part: slumgum or wax, as logged
-- mass_g: the mass as logged, g; missing: all that was left
-- with: emptied
WITH told AS (
    SELECT *, EXISTS (FROM harvests WHERE harvest = l.source) AS is_harvest,
        EXISTS (FROM blocks WHERE block = l.source) AS is_block,
        EXISTS (FROM passes AS p WHERE p.session = l.source) AS is_session, EXISTS (FROM harvests) AS harvests_logged
    FROM loads AS l
),
ids AS NOT MATERIALIZED (
    SELECT harvest AS id, 'harvest' AS kind FROM harvests
    UNION ALL SELECT block, 'block' FROM blocks
    UNION ALL SELECT session, 'session' FROM passes
),
prefixed AS (  -- named with the log first, as in harvest H1
    SELECT DISTINCT l.row, i.kind, i.id
    FROM loads AS l JOIN ids AS i
        ON i.kind = substr(l.source, 1, strpos(l.source, ' ') - 1) AND i.id = substr(l.source, strpos(l.source, ' ') + 1)
    WHERE contains(l.source, ' ')
)
SELECT t.row, t.session, coalesce(t.pass, 1) AS pass, t.source AS named,
    is_harvest::INTEGER + is_block::INTEGER + is_session::INTEGER AS matches,
    CASE
        WHEN matches > 1 THEN NULL
        WHEN is_harvest THEN 'harvest'
        WHEN is_block THEN 'block'
        WHEN is_session THEN 'session'
        -- where no harvests are logged, what is no block or session is taken for comb of a kind unknown
        ELSE coalesce(p.kind, if(harvests_logged, NULL, 'harvest'))
    END AS source_kind,
    CASE WHEN source_kind IS NOT NULL THEN if(matches = 1, named, coalesce(p.id, named)) END AS source,
    t.part, t.mass_g, coalesce(t.emptied, false) AS emptied
FROM told AS t LEFT JOIN prefixed AS p USING (row)
