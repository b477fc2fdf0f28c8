-- a recipe whose wax and oil are not 100 % together
-- severity: error
-- message: {wax_pct} wax and {oil_pct} oil make {sum_pct}, {off_pct} {direction} 100 %
-- fix: let wax_pct and oil_pct sum to 100; scent is counted on top
-- value: wax_pct
-- grows: off_pct
-- example: blends: 100, -> 90,
SELECT 'blends' AS log, row, 'wax_pct' AS "column", wax_pct, coalesce(oil_pct, 0) AS oil_pct, wax_pct + coalesce(oil_pct, 0) AS sum_pct,
    abs(sum_pct - 100) AS off_pct, if(sum_pct > 100, 'over', 'under') AS direction
FROM blends WHERE off_pct > 0.05
