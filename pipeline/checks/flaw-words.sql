-- words among the flaws of a batch that are none of the trade's and count as other
-- severity: note
-- message: “{words}” is none of the flaws known here and counts as other
-- fix: {meant}known are {known}; several are joined by ' + '
-- value: words
-- example: batches: poured,1, -> poured,1,one bent
WITH parts AS (SELECT row, trim(unnest(string_split(flaws, '+'))) AS words FROM batches WHERE flaws IS NOT NULL),
others AS (SELECT flaw, unnest(string_split(also, ' + ')) AS word FROM flaws)
SELECT 'batches' AS log, row, 'flaws' AS "column", string_agg(words, ' + ' ORDER BY words) AS words,
    coalesce('is ' || string_agg(DISTINCT flaw, ' or ' ORDER BY flaw) || ' meant? ', '') AS meant,
    (SELECT string_agg(flaw, ', ' ORDER BY flaw) FROM flaws) AS known
FROM parts LEFT JOIN others ON word = lower(words)  -- a flaw is known in one or in several, and in either spelling
WHERE words <> '' AND flaw_stem(words) NOT IN (SELECT flaw_stem(flaw) FROM flaws)
GROUP BY row
