-- one row per comb, stage and pass number: passes as weighed
-- comb: the kind of comb that the session, or the wax that fed it, stands under
-- stage: first (comb or slumgum melted), or refining
-- pass: number of the pass in its session
-- steps: how many weighed steps it sums
-- in_g: mass in, g
-- wax_g: wax out, g
-- residue_g: residues weighed, g
-- unaccounted_g: in - wax - residue, g
-- loss: 1 - wax / in
SELECT
    comb, stage, pass, count(*) AS steps, sum(in_g)::DECIMAL(18, 6) AS in_g, sum(wax_g)::DECIMAL(18, 6) AS wax_g,
    sum(residue_g)::DECIMAL(18, 6) AS residue_g,
    (sum(in_g) - sum(wax_g) - sum(residue_g))::DECIMAL(18, 6) AS unaccounted_g,
    1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM loss_parts
GROUP BY comb, stage, pass
ORDER BY comb, stage, pass
