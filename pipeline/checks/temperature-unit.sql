-- a temperature that fits the other unit better
-- severity: warning
WITH heats AS (
    SELECT 'passes' AS log, row, 'peak_temp' AS "column", peak_temp_c AS c FROM passes
    UNION ALL SELECT 'batches', row, 'pour_temp', pour_temp_c FROM batches
    UNION ALL SELECT 'batches', row, 'scent_temp', scent_temp_c FROM batches
    UNION ALL SELECT 'blocks', row, 'melting_point', melting_point_c FROM blocks
)
SELECT log, row, "column", printf('%.0f °C', c) AS value,
    if(c > 121, printf('%.0f °C is past every limit for hot wax; %.0f °F would be %.0f °C', c, c, (c - 32) / 1.8),
       printf('%.0f °C is too cold: beeswax melts at 61 to 66 °C; in Fahrenheit that figure would be %.0f', c, c * 1.8 + 32)) AS message,
    'write the unit beside the figure, such as 170 °F' AS fix
FROM heats WHERE c > 121 OR c < 50
