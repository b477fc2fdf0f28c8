-- a recipe whose wax and oil are not 100 % together
-- severity: error
SELECT 'blends' AS log, row, 'wax_pct' AS "column", wax_pct::VARCHAR AS value,
    printf('%.4g %% wax and %.4g %% oil make %.4g %%, %.4g %% ', wax_pct, coalesce(oil_pct, 0),
        wax_pct + coalesce(oil_pct, 0), abs(wax_pct + coalesce(oil_pct, 0) - 100))
        || if(wax_pct + coalesce(oil_pct, 0) > 100, 'over', 'under') || ' 100' AS message,
    'let wax_pct and oil_pct sum to 100; scent is counted on top' AS fix
FROM blends WHERE abs(wax_pct + coalesce(oil_pct, 0) - 100) > 0.05
