-- one row per load into a pass: its mass, as weighed or as what was left of its source
-- kept: no
-- with: row, session, pass, date, source_kind, source, part
-- mass_g: its mass, g; missing where the source was weighed nowhere
-- with: emptied
-- estimate_g: its mass by frames where it was weighed nowhere, g
-- with: weighed
WITH rests AS (  -- frames alone say nothing exact, until a stocktake has weighed what was left
    SELECT w.row, if(w.counted OR NOT coalesce(h.estimated, false), -w.change_g, NULL) AS mass_g,
        if(h.estimated AND h.mass_g IS NOT NULL, -w.change_g, NULL) AS estimate_g
    FROM source_ledger AS w LEFT JOIN harvest_masses AS h ON w.source_kind = 'harvest' AND h.harvest = w.source
    WHERE w.log = 'loads' AND w.turn = 2
)
SELECT l.* REPLACE (coalesce(l.mass_g, r.mass_g) AS mass_g), r.estimate_g, l.mass_g IS NOT NULL AS weighed
FROM dated_loads AS l LEFT JOIN rests AS r USING (row)
