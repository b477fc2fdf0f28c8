-- one row per refining pass that was weighed in full: how it was done and the share that it cannot account for
SELECT filter, method, unaccounted_g::DOUBLE / in_g::DOUBLE AS share FROM pass_steps
WHERE stage = 'refining' AND residue_weighed AND in_known AND unaccounted_g IS NOT NULL AND in_g > 0
ORDER BY row
