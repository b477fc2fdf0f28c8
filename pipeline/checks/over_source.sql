-- more loaded or taken than was left of the source
-- severity: warning
WITH steps AS (
    SELECT *, sum(if(turn = 0, change_g, 0)) OVER (PARTITION BY source_kind, source, part) AS had_g,
        count(*) FILTER (turn = 4) OVER (PARTITION BY source_kind, source, part) AS counted,
        row_number() OVER (PARTITION BY source_kind, source, part, left_g < 0 ORDER BY date, turn, rank) AS nth
    FROM watched_ledger
),
taken AS (
    SELECT log, row, source_kind, source, part, -change_g AS took_g, left_g
    FROM steps WHERE left_g < 0 AND change_g < 0 AND nth = 1 AND log IN ('loads', 'draws')
)
SELECT log, row, 'mass' AS "column", shown(took_g) AS value,
    shown(took_g) || ' is ' || shown(-left_g) || ' more than the ' || shown(took_g + left_g) || ' that was left of '
        || source_kind || ' ' || source || if(part IN ('wax', 'slumgum') AND source_kind = 'session', ' (' || part || ')', '') AS message,
    'compare the weights, and whether the source is the right one' AS fix,
    if(left_g * left_g <= 4 * (u2(log, took_g) + u2(if(source_kind = 'harvest', 'harvests', if(source_kind = 'block', 'blocks', 'passes')), took_g + left_g)), 'note', 'warning') AS severity
FROM taken
