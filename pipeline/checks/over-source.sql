-- more loaded or taken than was left of the source
-- severity: warning
-- message: {source} held {held_g}, and {taken_g} was taken: {over_g} more
-- message_none: nothing was left of {source}, and {taken_g} is taken
-- fix: compare the weights, and whether the source is the right one
-- value: taken_g
-- grows: over_g
-- example: loads: H1,,1000 -> H1,,1300
WITH moves AS NOT MATERIALIZED (  -- both times from what it reads: kept between, it would be the largest table of a build
    SELECT if(kind = 'draw', 'draws', 'loads') AS log, row, 'block ' || block AS source, 'blocks' AS born, mass_g AS change_g,
        date, turn, rank
    FROM block_moves
    UNION ALL
    SELECT 'loads', NULL, 'harvest ' || harvest, 'harvests', mass_g, NULL, 0, NULL FROM harvest_masses
    WHERE mass_g IS NOT NULL AND NOT estimated
    UNION ALL
    SELECT 'loads', NULL, 'the slumgum of session ' || session, 'passes', residue_g, NULL, 0, NULL FROM sessions WHERE residue_known
    UNION ALL
    SELECT 'loads', row, if(part = 'slumgum', 'the slumgum of session ', 'harvest ') || source, '', -mass_g, date, NULL, NULL
    FROM loads_taking_the_rest WHERE source_kind = 'harvest' OR part = 'slumgum'
),
short AS (  -- only where more was taken in all than was ever there can too much have been taken at once
    SELECT source FROM moves GROUP BY source HAVING sum(change_g) FILTER (turn = 0 OR change_g < 0) < 0
),
ledger AS (
    SELECT *, sum(change_g) OVER w AS left_g, count(*) FILTER (turn = 0) OVER w AS known, max(born) OVER w AS from_log
    FROM moves SEMI JOIN short USING (source)
    WINDOW w AS (PARTITION BY source ORDER BY turn > 0, date, turn, rank, row)
)
SELECT log, row, 'mass' AS "column", -change_g AS taken_g, -left_g AS over_g, left_g - change_g AS held_g, source,
    if(held_g = 0, 'none', NULL) AS variant,
    if(left_g::DOUBLE ** 2 <= 4 * (u2(log, -change_g) + u2(from_log, held_g)), 'note', 'warning') AS severity
FROM ledger
WHERE known > 0 AND left_g < 0 AND held_g >= 0  -- who takes from less than nothing is not told again
