-- one row per method and filter of refining passes that were weighed in full: the shares that they cannot account for
SELECT method, filter, list(unaccounted_g::DOUBLE / in_g::DOUBLE ORDER BY row) AS shares FROM pass_steps
WHERE stage = 'refining' AND residue_weighed AND in_known AND unaccounted_g IS NOT NULL AND in_g > 0
GROUP BY method, filter ORDER BY method, filter NULLS FIRST
