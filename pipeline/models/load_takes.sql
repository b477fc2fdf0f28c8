-- one row per load into a pass: its mass, as weighed or as what was left of its source
-- kept: no
-- row: the load's row in loads
-- session: the session it went into
-- pass: the pass it went into
-- date: the date of that pass
-- source_kind: harvest, block or session
-- source: its id
-- part: comb, wax or slumgum
-- mass_g: its mass, g; missing where the source was weighed nowhere
-- estimate_g: its mass by frames where it was weighed nowhere, g
-- weighed: whether the load itself was weighed
SELECT
    l.row, l.session, l.pass, l.date, l.source_kind, l.source, l.part,
    -- frames alone say nothing exact, until a stocktake has weighed what was left
    coalesce(l.mass_g, CASE WHEN w.counts > 0 OR NOT coalesce(h.estimated, false) THEN -w.change_g END) AS mass_g,
    CASE WHEN l.mass_g IS NULL AND h.estimated AND h.mass_g IS NOT NULL THEN -w.change_g END AS estimate_g,
    l.mass_g IS NOT NULL AS weighed
FROM load_parts AS l
LEFT JOIN watched_ledger AS w ON w.log = 'loads' AND w.turn = 2 AND w.row = l.row
LEFT JOIN harvest_masses AS h ON l.source_kind = 'harvest' AND h.harvest = l.source
