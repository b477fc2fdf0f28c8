-- one row per movement of a source from which all that was left was once taken, or which was once counted
-- kept: no
-- with: source_kind, source, part, date, turn, rank, log, row
-- mass_g: in (positive) or out (negative), g; missing: all that is left
-- counted_g: what a stocktake found, g
WITH counts AS (
    SELECT item_kind AS source_kind, item AS source, if(item_kind = 'block', 'wax', 'comb') AS part, date, row, mass_g
    FROM stocktake_items WHERE item_kind IN ('block', 'harvest') AND mass_g IS NOT NULL
),
watched AS (
    SELECT source_kind, source, part FROM dated_loads WHERE source IS NOT NULL AND (mass_g IS NULL OR emptied)
    UNION SELECT 'block', block, 'wax' FROM draws WHERE mass_g IS NULL
    UNION SELECT source_kind, source, part FROM counts
),
comb AS (SELECT source AS harvest FROM watched WHERE part = 'comb'),
shelf AS (SELECT source AS block FROM watched WHERE source_kind = 'block'),
wax AS (SELECT source AS session FROM watched WHERE source_kind = 'session' AND part = 'wax'),
slumgum AS (SELECT source AS session FROM watched WHERE part = 'slumgum'),
outs AS (
    SELECT source_kind, source, part, date, 2 AS rank, 'loads' AS log, row, mass_g, emptied FROM dated_loads
    SEMI JOIN watched USING (source_kind, source, part)
    UNION ALL
    SELECT 'block', block, 'wax', date, 1, 'draws', row, mass_g, false FROM draws SEMI JOIN shelf USING (block)
)
SELECT 'harvest' AS source_kind, harvest AS source, 'comb' AS part, date, 0 AS turn, 0 AS rank,
    'harvests' AS log, NULL::INTEGER AS row, mass_g, NULL::DECIMAL(18, 6) AS counted_g
FROM harvest_masses SEMI JOIN comb USING (harvest)
UNION ALL SELECT 'block', block, 'wax', date, 0, 0, 'blocks', row, mass_g, NULL FROM blocks SEMI JOIN shelf USING (block)
UNION ALL SELECT 'session', session, 'wax', last_date, 0, 0, 'passes', NULL, last_wax_g, NULL
FROM sessions SEMI JOIN wax USING (session)
UNION ALL SELECT 'session', session, 'wax', date, 0, 1, 'blocks', row, -mass_g, NULL FROM blocks SEMI JOIN wax USING (session)
UNION ALL SELECT 'session', session, 'slumgum', date, 0, 0, 'passes', row, residue_g, NULL
FROM passes SEMI JOIN slumgum USING (session) WHERE residue_g IS NOT NULL
UNION ALL SELECT source_kind, source, part, date, if(mass_g IS NULL, 2, 1), rank, log, row, -mass_g, NULL FROM outs
UNION ALL SELECT source_kind, source, part, date, 3, rank, log, row, NULL, NULL FROM outs WHERE emptied
UNION ALL SELECT source_kind, source, part, date, 4, 0, 'stocktakes', row, NULL, mass_g FROM counts
