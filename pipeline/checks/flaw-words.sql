-- words among the flaws of a batch that are none of the trade's and count as other
-- severity: note
-- message: “{words}” is none of the flaws known here and counts as other
-- fix: known are {known}; several are joined by ` + `
-- value: words
-- example: batches: poured,1, -> poured,1,one bent
WITH parts AS (SELECT row, unnest(string_split(flaws, '+')) AS words FROM batches WHERE flaws IS NOT NULL)
SELECT 'batches' AS log, row, 'flaws' AS "column", string_agg(trim(words), ' + ' ORDER BY words) AS words,
    (SELECT string_agg(flaw, ', ' ORDER BY flaw) FROM flaws) AS known
FROM parts  -- a flaw is known in one or in several, and by its American spelling
WHERE trim(words) <> '' AND replace(rtrim(lower(trim(words)), 's'), 'center', 'centre') NOT IN (SELECT rtrim(flaw, 's') FROM flaws)
GROUP BY row
