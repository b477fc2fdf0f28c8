-- one row per caution that the logs give a reason for: how many rows do, the log and the row of the first of them
WITH notes AS (
    SELECT 'comb' AS noted_of, 'harvests' AS log, row, lower(concat_ws(' ', hold, notes)) AS said FROM harvests WHERE coalesce(hold, notes) IS NOT NULL
    UNION ALL SELECT 'wax', 'passes', row, lower(notes) FROM passes WHERE notes IS NOT NULL
    UNION ALL SELECT 'wax', 'blocks', row, lower(notes) FROM blocks WHERE notes IS NOT NULL
),
telltales AS (
    SELECT caution, noted_of, unnest(string_split(telltale, ' + ')) AS word FROM cautions WHERE telltale IS NOT NULL
),
reasons AS (
    -- first whether the letters stand there at all: a pattern that differs from row to row is slow to match
    SELECT DISTINCT t.caution, n.log, n.row FROM telltales AS t JOIN notes AS n USING (noted_of)
    WHERE contains(n.said, rtrim(t.word, '*')) AND regexp_matches(n.said, '\b' || if(ends_with(t.word, '*'), rtrim(t.word, '*'), t.word || '\b'))
    UNION ALL SELECT 'darkening', 'passes', p.row FROM passes AS p JOIN cautions AS c ON c.caution = 'darkening' AND p.peak_temp_c > c.high
)
SELECT caution, arg_min(log, place) AS log, count(*) AS rows, arg_min(row, place) AS row, any_value(says) AS says, any_value(source) AS source
FROM (SELECT r.*, c.says, c.source, (log, row) AS place FROM reasons AS r JOIN cautions AS c USING (caution))
GROUP BY caution ORDER BY list_position(['foulbrood', 'treatments', 'darkening', 'metal', 'water'], caution)
