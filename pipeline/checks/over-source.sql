-- more loaded or taken than was left of the source
-- severity: warning
-- message: {source} held {held_g}, and {taken_g} was taken: {over_g} more
-- message_none: nothing was left of {source}, and {taken_g} is taken
-- fix: compare the weights, and whether the source is the right one
-- value: taken_g
-- grows: over_g
-- example: loads: H1,,1000 -> H1,,1300
WITH moves AS (
    SELECT if(kind = 'draw', 'draws', 'loads') AS log, row, 'block' AS source_kind, block AS source, '' AS what,
        'blocks' AS born, mass_g AS change_g, date, turn, rank
    FROM block_moves
    UNION ALL
    SELECT 'loads', NULL, 'harvest', harvest, '', 'harvests', mass_g, NULL, 0, 0 FROM harvest_masses
    WHERE mass_g IS NOT NULL AND NOT estimated
    UNION ALL
    SELECT 'loads', NULL, 'session', session, 'the slumgum of ', 'passes', residue_g, NULL, 0, 0 FROM sessions WHERE residue_known
    UNION ALL
    SELECT 'loads', row, source_kind, source, if(part = 'slumgum', 'the slumgum of ', ''), '', -mass_g, date, 1, 0
    FROM loads_taking_the_rest WHERE source_kind = 'harvest' OR part = 'slumgum'
),
took AS (
    SELECT source_kind, source, part, sum(mass_g) AS mass_g FROM loads_taking_the_rest
    WHERE source_kind = 'harvest' OR part = 'slumgum' GROUP BY ALL
),
short AS (  -- only where more was taken in all than was ever there can too much have been taken at once
    SELECT 'block' AS source_kind, block AS source, '' AS what FROM stock_blocks WHERE mass_g < 0
    UNION SELECT 'block', block, '' FROM stock_blended WHERE mass_g < 0
    UNION SELECT 'block', block, '' FROM block_moves WHERE turn > 0 AND mass_g > 0
    UNION ALL SELECT 'harvest', h.harvest, '' FROM took AS t JOIN harvest_masses AS h ON h.harvest = t.source
    WHERE t.source_kind = 'harvest' AND t.mass_g > h.mass_g
    UNION ALL SELECT 'session', s.session, 'the slumgum of ' FROM took AS t JOIN sessions AS s ON s.session = t.source
    WHERE t.part = 'slumgum' AND t.mass_g > s.residue_g
),
ledger AS (
    SELECT *, sum(change_g) OVER w AS left_g, count(*) FILTER (turn = 0) OVER w AS known, max(born) OVER w AS from_log
    FROM moves SEMI JOIN short USING (source_kind, source, what)
    WINDOW w AS (PARTITION BY source_kind, source, what ORDER BY turn > 0, date, turn, rank, row)
)
SELECT log, row, 'mass' AS "column", -change_g AS taken_g, -left_g AS over_g, left_g - change_g AS held_g,
    what || source_kind || ' ' || source AS source, if(held_g = 0, 'none', NULL) AS variant,
    if(left_g::DOUBLE ** 2 <= 4 * (u2(log, -change_g) + u2(from_log, left_g - change_g)), 'note', 'warning') AS severity
FROM ledger
WHERE known > 0 AND left_g < 0 AND change_g < 0 AND turn IN (1, 2) AND left_g - change_g >= 0
