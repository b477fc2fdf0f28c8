-- one row per caution that the logs give a reason for: how many rows do, the log and the row of the first of them
WITH notes AS (
    SELECT 'comb' AS noted_of, 'harvests' AS log, row, lower(concat_ws(' ', hold, notes)) AS said FROM harvests
    UNION ALL SELECT 'wax', 'passes', row, lower(notes) FROM passes
    UNION ALL SELECT 'wax', 'blocks', row, lower(notes) FROM blocks
),
telltales AS (
    SELECT caution, noted_of, list_transform(string_split(telltale, ' + '),
        lambda word: if(ends_with(word, '*'), rtrim(word, '*'), word || '\b')) AS words
    FROM cautions WHERE telltale IS NOT NULL
),
reasons AS (
    SELECT t.caution, n.log, n.row FROM telltales AS t JOIN notes AS n USING (noted_of)
    WHERE regexp_matches(n.said, '\b(' || array_to_string(t.words, '|') || ')')
    UNION ALL SELECT 'darkening', 'passes', p.row FROM passes AS p JOIN cautions AS c ON c.caution = 'darkening' AND p.peak_temp_c > c.high
)
SELECT caution, arg_min(log, place) AS log, count(*) AS rows, arg_min(row, place) AS row, any_value(says) AS says, any_value(source) AS source
FROM (SELECT r.*, c.says, c.source, (log, row) AS place FROM reasons AS r JOIN cautions AS c USING (caution))
GROUP BY caution ORDER BY list_position(['foulbrood', 'treatments', 'darkening', 'metal', 'water'], caution)
