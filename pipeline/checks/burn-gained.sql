-- a candle heavier after a burn than before
-- severity: warning
SELECT 'burns' AS log, row, 'mass_after' AS "column", shown(mass_after_g) AS value,
    shown(mass_after_g) || ' after the burn is ' || shown(mass_after_g - mass_before_g) || ' more than before it (' || shown(mass_before_g) || ')' AS message,
    'compare the two weights' AS fix
FROM burns WHERE mass_after_g > mass_before_g
