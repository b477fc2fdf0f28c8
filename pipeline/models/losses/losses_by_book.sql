-- one row per stage and pass number: passes as weighed
-- kept: as a view
-- stage: first (comb or slumgum melted), or refining
-- pass: number of the pass in its session
-- steps: how many weighed steps it sums
-- in_g: mass in, g
-- wax_g: wax out, g
-- residue_g: residues weighed, g
-- unaccounted_g: in - wax - residue, g
-- loss: 1 - wax / in
SELECT
    stage, pass, count(*) AS steps, sum(in_g)::DECIMAL(18, 6) AS in_g, sum(wax_g)::DECIMAL(18, 6) AS wax_g,
    sum(residue_g)::DECIMAL(18, 6) AS residue_g,
    (sum(in_g) - sum(wax_g) - sum(residue_g))::DECIMAL(18, 6) AS unaccounted_g,
    1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM pass_steps
WHERE in_known AND in_g IS NOT NULL AND wax_g IS NOT NULL
GROUP BY stage, pass
ORDER BY stage, pass
