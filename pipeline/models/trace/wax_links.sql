-- one row per thing and thing that its wax came from, the next step back only
-- kept: as a view
-- kind: session, slumgum (what a session left), block, draw, batch or sale
-- with: id
-- from_kind: harvest, session, slumgum, block, draw, batch, or unknown where nobody logged it
-- from_id: its name; missing for unknown
-- share: the share of its wax that came from there; the shares of one thing sum to 1
WITH loaded AS (  -- a load weighed nowhere counts like the others of its kind
    SELECT session, part = 'wax' AS is_wax, flow_g::DOUBLE AS mass_g,
        CASE WHEN source IS NULL THEN 'unknown' WHEN part = 'comb' THEN 'harvest' WHEN part = 'slumgum' THEN 'slumgum'
            ELSE source_kind END AS from_kind, source AS from_id
    FROM (SELECT * REPLACE (coalesce(part, 'comb') AS part) FROM loaded_masses)
),
weighed AS (
    SELECT *, if(bool_and(coalesce(mass_g, 0) > 0) OVER kind_of_load, mass_g, 1) AS weight_g FROM loaded
    WINDOW kind_of_load AS (PARTITION BY session, is_wax)
),
sums AS (
    SELECT session, coalesce(sum(weight_g) FILTER (is_wax), 0) AS waxes_g,
        sum(weight_g) FILTER (NOT is_wax) AS combs_g
    FROM weighed GROUP BY session
),
kept AS (  -- wax loaded keeps its mass, and comb and slumgum gave the rest
    SELECT s.session, s.waxes_g, s.combs_g,
        if(s.combs_g IS NULL, 1, least(1, if(h.wax_g > 0, s.waxes_g / h.wax_g, s.waxes_g / (s.waxes_g + s.combs_g)))) AS wax_share
    FROM sums AS s JOIN wax_holders AS h ON h.kind = 'session' AND h.id = s.session
)
SELECT 'session' AS kind, session AS id, from_kind, from_id,
    sum(if(is_wax, wax_share * weight_g / waxes_g, (1 - wax_share) * weight_g / combs_g)) AS share
FROM weighed JOIN kept USING (session) GROUP BY ALL
UNION ALL
SELECT 'slumgum', session, from_kind, from_id, sum(weight_g / coalesce(combs_g, waxes_g))
FROM weighed JOIN kept USING (session) WHERE NOT is_wax OR combs_g IS NULL GROUP BY ALL
UNION ALL SELECT 'block', block, 'session', session, 1 FROM blocks WHERE session IS NOT NULL
UNION ALL SELECT 'block', block, 'batch', batch, 1 FROM blocks WHERE batch IS NOT NULL
UNION ALL SELECT 'draw', d.row::VARCHAR, 'block', d.block, 1 FROM draws AS d SEMI JOIN blocks USING (block)
UNION ALL
SELECT 'batch', d.batch, 'draw', d.row::VARCHAR, m.mass_g::DOUBLE / sum(m.mass_g::DOUBLE) OVER (PARTITION BY d.batch)
FROM draws AS d JOIN block_moves AS m ON m.kind = 'draw' AND m.row = d.row
WHERE d.batch IS NOT NULL AND m.mass_g < 0
UNION ALL SELECT 'batch', id, 'unknown', NULL, 1 FROM wax_holders WHERE kind = 'batch' AND coalesce(wax_g, 0) <= 0
UNION ALL SELECT 'sale', row::VARCHAR, if(batch IS NULL, 'unknown', 'batch'), batch, 1 FROM sales
