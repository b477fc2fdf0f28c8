-- one row per kind of comb, stage and pass number: passes as weighed, each shared by mass over where it stands
-- comb: the kind that the session, or the wax that fed it, stands under; missing for bought wax and what was not logged
-- stage: first (comb or slumgum melted), or refining
-- pass: number of the pass in its session
-- steps: how many weighed steps have a part in it
-- in_g: mass in, g
-- wax_g: wax out, g
-- residue_g: residues weighed, g
-- unaccounted_g: in - wax - residue, g
-- loss: 1 - wax / in
WITH steps AS NOT MATERIALIZED (
    SELECT session, stage, pass, in_g, wax_g, residue_g FROM pass_steps
    WHERE in_known AND in_g IS NOT NULL AND wax_g IS NOT NULL
),
parts AS (
    SELECT c.comb, s.stage, s.pass, count(*) AS steps, sum(s.in_g)::DECIMAL(38, 12) AS in_g,
        sum(s.wax_g)::DECIMAL(38, 12) AS wax_g, sum(s.residue_g)::DECIMAL(38, 12) AS residue_g
    FROM steps AS s JOIN session_wax AS c USING (session) WHERE c.own_comb GROUP BY ALL
    UNION ALL
    SELECT c.comb, s.stage, s.pass, count(DISTINCT session),
        -- to more digits than a mass: the loss of a small share rests on their difference
        sum((s.in_g::DOUBLE * o.share)::DECIMAL(28, 12)), sum((s.wax_g::DOUBLE * o.share)::DECIMAL(28, 12)),
        sum((s.residue_g::DOUBLE * o.share)::DECIMAL(28, 12))
    FROM steps AS s JOIN session_origins AS o USING (session) LEFT JOIN session_wax AS c ON c.session = o.origin
    GROUP BY ALL
)
SELECT
    comb, stage, pass, sum(steps)::BIGINT AS steps, sum(in_g)::DECIMAL(18, 6) AS in_g,
    sum(wax_g)::DECIMAL(18, 6) AS wax_g, sum(residue_g)::DECIMAL(18, 6) AS residue_g,
    (sum(in_g) - sum(wax_g) - sum(residue_g))::DECIMAL(18, 6) AS unaccounted_g,
    1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM parts
GROUP BY comb, stage, pass
ORDER BY comb, stage, pass
