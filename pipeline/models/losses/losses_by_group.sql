-- one row per grouping, group, stage and pass number: passes as weighed
-- with: grouping, season, method, filter
-- comb: the kind that the session, or the wax that fed it, stands under, each pass shared over them by mass, where grouped by it; missing for bought wax and what was not logged
-- with: stage, pass
-- steps: how many weighed steps have a part in it
-- with: in_g, wax_g, residue_g, unaccounted_g, loss
WITH parts AS (
    SELECT grouping, if(grouping = 'season', season, NULL) AS season, if(grouping = 'method', method, NULL) AS method,
        if(grouping = 'filter', filter, NULL) AS filter, stage, pass, count(*) AS steps, sum(in_g)::DECIMAL(38, 12) AS in_g,
        sum(wax_g)::DECIMAL(38, 12) AS wax_g, sum(residue_g)::DECIMAL(38, 12) AS residue_g
    FROM pass_steps, (VALUES ('book'), ('season'), ('method'), ('filter')) AS g(grouping) WHERE counted
    GROUP BY ALL
    UNION ALL BY NAME
    SELECT 'comb' AS grouping, c.comb, s.stage, s.pass, count(*) AS steps, sum(s.in_g)::DECIMAL(38, 12) AS in_g,
        sum(s.wax_g)::DECIMAL(38, 12) AS wax_g, sum(s.residue_g)::DECIMAL(38, 12) AS residue_g
    FROM pass_steps AS s JOIN session_wax AS c USING (session) WHERE s.counted AND c.own_comb GROUP BY ALL
    UNION ALL BY NAME
    SELECT 'comb' AS grouping, c.comb, s.stage, s.pass, count(DISTINCT session) AS steps,
        -- to more digits than a mass: the loss of a small share rests on their difference
        sum((s.in_g::DOUBLE * o.share)::DECIMAL(28, 12)) AS in_g, sum((s.wax_g::DOUBLE * o.share)::DECIMAL(28, 12)) AS wax_g,
        sum((s.residue_g::DOUBLE * o.share)::DECIMAL(28, 12)) AS residue_g
    FROM pass_steps AS s JOIN session_origins AS o USING (session) LEFT JOIN session_wax AS c ON c.session = o.origin
    WHERE s.counted GROUP BY ALL
)
SELECT
    grouping, season, method, filter, comb, stage, pass, sum(steps)::BIGINT AS steps, sum(in_g)::DECIMAL(18, 6) AS in_g,
    sum(wax_g)::DECIMAL(18, 6) AS wax_g, sum(residue_g)::DECIMAL(18, 6) AS residue_g,
    (sum(in_g) - sum(wax_g) - sum(residue_g))::DECIMAL(18, 6) AS unaccounted_g,
    1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM parts
GROUP BY ALL
ORDER BY ALL
