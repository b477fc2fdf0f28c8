-- one row per kind of candle: what it weighs and the wax that one takes
-- with: candle
-- form: container, mould, dipped or rolled
-- with: blend
-- g_per_ml: density of the solid blend, volumes taken as additive
-- widest_mm: its widest inside diameter, by which a wick is chosen, mm
-- fill_g: mass of wax, oil and scent in one, g
-- wax_each_g: wax that one takes, pour loss included, g; 0 for rolled ones, made from bought sheet
-- wax_share: wax, of the wax and oil of its recipe, fraction 0-1
-- oil_share: oil, of the wax and oil of its recipe, fraction 0-1
-- scent_share: scent, by mass of wax and oil, fraction 0-1
WITH recipes AS (
    SELECT b.blend, nullif(b.wax_pct + coalesce(b.oil_pct, 0), 0) AS whole_pct,  -- 33.33 + 66.66 is a whole
        b.wax_pct / whole_pct AS wax, coalesce(b.oil_pct, 0) / whole_pct AS oil,
        coalesce(b.scent_pct, 0) / 100.0 AS scent, w.g_per_ml AS wax_density,
        coalesce(own_oil.g_per_ml, o.g_per_ml) AS oil_density,
        coalesce(own_scent.g_per_ml, s.g_per_ml) AS scent_density
    FROM blends AS b
    JOIN densities AS w ON w.material = 'wax'
    JOIN densities AS o ON o.material = 'oil'
    JOIN densities AS s ON s.material = 'scent'
    LEFT JOIN densities AS own_oil ON own_oil.material = b.oil
    LEFT JOIN densities AS own_scent ON own_scent.material = b.scent
),
sizes AS (  -- the vessel is a frustum: bottom diameter, and rim diameter at its height
    SELECT candle, height_mm - coalesce(headspace_mm, 0) AS filled_mm, diameter_mm AS bottom_mm,
        diameter_mm + (coalesce(top_diameter_mm, diameter_mm) - diameter_mm)
            * (height_mm - coalesce(headspace_mm, 0)) / nullif(height_mm, 0) AS line_mm
    FROM candles
),
fills AS (
    SELECT c.candle, c.form, c.blend, r.wax AS wax_share, r.oil AS oil_share, r.scent AS scent_share,
        density(r.wax, r.oil, r.scent, r.wax_density, r.oil_density, r.scent_density) AS g_per_ml,
        c.fill_mass_g::DOUBLE AS fill_mass_g,
        coalesce(c.fill_volume_ml, frustum_ml(z.bottom_mm, z.line_mm, z.filled_mm)) AS fill_ml,
        coalesce(c.pour_loss_pct / 100.0, s.pour_loss_share) AS pour_loss,
        if(c.top_diameter_mm > c.diameter_mm, c.top_diameter_mm, c.diameter_mm) AS widest_mm
    FROM candles AS c
    CROSS JOIN settings AS s
    JOIN sizes AS z USING (candle)
    LEFT JOIN recipes AS r USING (blend)
)
SELECT candle, form, blend, g_per_ml, widest_mm, coalesce(fill_mass_g, fill_ml * g_per_ml) AS fill_g,
    if(form = 'rolled', 0, coalesce(fill_mass_g, fill_ml * g_per_ml) * wax_share / (1 + scent_share) / nullif(1 - pour_loss, 0))
        AS wax_each_g,
    wax_share, oil_share, scent_share
FROM fills
ORDER BY candle
