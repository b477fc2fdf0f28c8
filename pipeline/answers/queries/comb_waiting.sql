-- one row per harvest that waits to be rendered and has a mass
SELECT harvest, comb, mass_g::DOUBLE AS mass_g, wax_expected FROM comb_pending WHERE mass_g IS NOT NULL ORDER BY harvest
