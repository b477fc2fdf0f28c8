-- more loaded or taken than was left of the source
-- severity: warning
WITH moves AS (
    SELECT if(kind = 'draw', 'draws', 'loads') AS log, row, 'block' AS source_kind, block AS source, '' AS what,
        'blocks' AS born, mass_g AS change_g, turn, row_number() OVER (ORDER BY date, turn, rank, row) AS place
    FROM block_moves
    UNION ALL
    SELECT 'loads', NULL, 'harvest', harvest, '', 'harvests', mass_g, 0, 0 FROM harvest_masses
    WHERE mass_g IS NOT NULL AND NOT estimated
    UNION ALL
    SELECT 'loads', NULL, 'session', session, ' (slumgum)', 'passes', residue_g, 0, 0 FROM sessions WHERE residue_known
    UNION ALL
    SELECT 'loads', row, source_kind, source, if(part = 'slumgum', ' (slumgum)', ''), '', -mass_g, 1,
        row_number() OVER (ORDER BY date, row)
    FROM load_takes WHERE source_kind = 'harvest' OR part = 'slumgum'
),
ledger AS (
    SELECT *, sum(change_g) OVER w AS left_g, count(*) FILTER (turn = 0) OVER w AS known, max(born) OVER w AS from_log
    FROM moves WINDOW w AS (PARTITION BY source_kind, source, what ORDER BY turn > 0, place)
)
SELECT log, row, 'mass' AS "column", shown(-change_g) AS value,
    shown(-change_g) || ' is ' || shown(-left_g) || ' more than the ' || shown(left_g - change_g) || ' that was left of '
        || source_kind || ' ' || source || what AS message,
    'compare the weights, and whether the source is the right one' AS fix,
    if(left_g::DOUBLE ** 2 <= 4 * (u2(log, -change_g) + u2(from_log, left_g - change_g)), 'note', 'warning') AS severity
FROM ledger
WHERE known > 0 AND left_g < 0 AND change_g < 0 AND turn IN (1, 2) AND left_g - change_g >= 0
