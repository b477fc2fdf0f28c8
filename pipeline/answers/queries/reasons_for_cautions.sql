-- one row per caution that the logs give a reason for: how many rows do, the log and the row of the first of them
WITH words AS (
    SELECT 'passes' AS log, row, lower(notes) AS said FROM passes WHERE notes IS NOT NULL
    UNION ALL SELECT 'blocks', row, lower(notes) FROM blocks WHERE notes IS NOT NULL
    UNION ALL SELECT 'harvests', row, lower(concat_ws(' ', hold, notes)) FROM harvests WHERE hold IS NOT NULL OR notes IS NOT NULL
),
reasons AS (
    SELECT 'foulbrood' AS caution, 'harvests' AS log, row FROM harvests
    WHERE regexp_matches(lower(concat_ws(' ', hold, notes)), '\b(foulbrood|foul brood|afb|efb|chalkbrood|disease|sick)')
    UNION ALL SELECT 'treatments', log, row FROM words
    WHERE log = 'harvests' AND regexp_matches(said, '\b(treat|miticide|varroa strip|strips|amitraz|fluvalinate|coumaphos|medicat)')
    UNION ALL SELECT 'darkening', 'passes', p.row FROM passes AS p JOIN cautions AS c ON c.caution = 'darkening' AND p.peak_temp_c > c.high
    UNION ALL SELECT 'water', log, row FROM words
    WHERE log <> 'harvests' AND regexp_matches(said, '\b(gr[ae]y|emulsi|mushy|spongy|soapy|hard water)')
    UNION ALL SELECT 'metal', log, row FROM words
    WHERE log <> 'harvests' AND regexp_matches(said, '\b(iron|zinc|galvani[sz]ed|copper|brass|rusty?)\b')
)
SELECT caution, arg_min(log, place) AS log, count(*) AS rows, arg_min(row, place) AS row, any_value(says) AS says, any_value(source) AS source
FROM (SELECT r.*, c.says, c.source, (log, row) AS place FROM reasons AS r JOIN cautions AS c USING (caution))
GROUP BY caution ORDER BY list_position(['foulbrood', 'treatments', 'darkening', 'metal', 'water'], caution)
