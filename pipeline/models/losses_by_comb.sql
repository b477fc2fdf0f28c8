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
WITH shared AS (  -- to more digits than a mass: the loss of a small share rests on their difference
    SELECT p.session, c.comb, p.stage, p.pass, (p.in_g::DOUBLE * o.share)::DECIMAL(28, 12) AS in_g,
        (p.wax_g::DOUBLE * o.share)::DECIMAL(28, 12) AS wax_g,
        (p.residue_g::DOUBLE * o.share)::DECIMAL(28, 12) AS residue_g
    FROM pass_steps AS p
    JOIN session_origins AS o USING (session)
    LEFT JOIN session_combs AS c ON c.session = o.origin
    WHERE p.in_known AND p.in_g IS NOT NULL AND p.wax_g IS NOT NULL
)
SELECT
    comb, stage, pass, count(DISTINCT session) AS steps, sum(in_g)::DECIMAL(18, 6) AS in_g,
    sum(wax_g)::DECIMAL(18, 6) AS wax_g, sum(residue_g)::DECIMAL(18, 6) AS residue_g,
    (sum(in_g) - sum(wax_g) - sum(residue_g))::DECIMAL(18, 6) AS unaccounted_g,
    1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM shared
GROUP BY comb, stage, pass
ORDER BY comb, stage, pass
