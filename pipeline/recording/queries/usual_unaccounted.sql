-- one row per stage and method that three weighed passes or more tell about
-- stage: first or refining
-- method: how it was melted
-- low: a quarter of these passes left a smaller share of mass_in unaccounted
-- high: a quarter left a larger one
SELECT stage, method,
    quantile_cont(unaccounted_g::DOUBLE / in_g::DOUBLE, 0.25) AS low,
    quantile_cont(unaccounted_g::DOUBLE / in_g::DOUBLE, 0.75) AS high
FROM pass_steps
WHERE residue_weighed AND in_weighed AND in_g > 0
GROUP BY stage, method
HAVING count(*) >= 3
ORDER BY stage, method
