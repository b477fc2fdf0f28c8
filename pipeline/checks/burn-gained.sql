-- a candle heavier after a burn than before
-- severity: warning
-- message: {after_g} after the burn is {over_g} more than before it ({before_g})
-- fix: compare the two weights
-- value: after_g
-- grows: over_g
-- example: burns: 50,45 -> 50,55
SELECT 'burns' AS log, row, 'mass_after' AS "column", mass_after_g AS after_g, mass_after_g - mass_before_g AS over_g,
    mass_before_g AS before_g
FROM burns WHERE mass_after_g > mass_before_g
