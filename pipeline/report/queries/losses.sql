-- what each kind of pass lost, over the whole book
SELECT method, stage, sum(steps) AS steps, sum(in_g) AS in_g, sum(wax_g) AS wax_g, sum(residue_g) AS residue_g,
    sum(unaccounted_g) AS unaccounted_g, 1 - sum(wax_g) / nullif(sum(in_g), 0) AS loss
FROM losses_by_group WHERE grouping = 'method' GROUP BY method, stage ORDER BY stage, in_g DESC, method
