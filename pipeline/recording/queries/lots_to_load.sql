-- one row per lot that a session may load, the comb that waits longest first, then wax set aside, then slumgum
-- kind: harvest, slumgum or wax
-- name: the harvest, or the session that it came from
-- about: what it is, in words
-- mass_g: what is left, g; missing where nobody knows
WITH comb AS (
    SELECT 'harvest' AS kind, p.harvest AS name, p.comb AS about, p.mass_g,
        row_number() OVER (ORDER BY h.date DESC, h.row DESC) AS late
    FROM comb_pending AS p JOIN harvests AS h USING (harvest)
),
taken AS (
    SELECT source, sum(mass_g) AS mass_g FROM loaded_masses WHERE part = 'slumgum' GROUP BY source
),
slumgum AS (
    SELECT 'slumgum' AS kind, s.session AS name, 'slumgum' AS about, s.residue_g - coalesce(t.mass_g, 0) AS mass_g,
        row_number() OVER (ORDER BY s.last_date DESC, s.session DESC) AS late
    FROM sessions AS s LEFT JOIN taken AS t ON t.source = s.session
    WHERE s.residue_g > coalesce(t.mass_g, 0)
),
wax AS (
    SELECT 'wax' AS kind, session AS name, 'wax set aside' AS about, mass_g,
        row_number() OVER (ORDER BY date DESC, session DESC) AS late
    FROM stock_set_aside
)
SELECT kind, name, about, mass_g
FROM (
    SELECT 1 AS place, * FROM comb WHERE late <= 40
    UNION ALL SELECT 2, * FROM wax WHERE late <= 40
    UNION ALL SELECT 3, * FROM slumgum WHERE late <= 6
)
ORDER BY place, if(place = 1, -late, late)
