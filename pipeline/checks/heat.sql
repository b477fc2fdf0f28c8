-- wax hotter than the cautions say
-- severity: note
WITH heats AS (
    SELECT 'passes' AS log, row, 'peak_temp' AS "column", peak_temp_c AS c FROM passes
    UNION ALL SELECT 'batches', row, 'pour_temp', pour_temp_c FROM batches
    UNION ALL SELECT 'batches', row, 'scent_temp', scent_temp_c FROM batches
)
SELECT log, row, "column", printf('%.0f °C', c) AS value,
    printf('%.0f °C (%.0f °F) is %.0f degrees over 85 °C, where the colour of wax begins to darken', c, c * 1.8 + 32, c - 85) AS message,
    'hold wax at 75 to 80 °C over water (Krell 1996; Ritter 2018)' AS fix
FROM heats WHERE c > 85 AND c <= 121
