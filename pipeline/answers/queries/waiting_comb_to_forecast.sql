-- one row per harvest that waits to be rendered: what is left of it, or its frames and what was loaded of them
SELECT p.harvest, p.comb, p.mass_g::DOUBLE AS mass_g, p.wax_expected, h.method,
    season_of(greatest(coalesce(p.wax_expected, s.on_date), s.on_date)) AS season,
    if(p.estimated, h.frames, NULL)::DOUBLE AS frames, coalesce(k.loaded_g, 0)::DOUBLE AS loaded_g
FROM comb_pending AS p JOIN harvests AS h USING (harvest) CROSS JOIN settings AS s
LEFT JOIN harvest_stock AS k USING (harvest)
WHERE p.mass_g IS NOT NULL OR h.frames > 0
ORDER BY p.harvest
