-- a draw dated before its block was there
-- severity: warning
SELECT 'draws' AS log, d.row, 'date' AS "column", d.date::VARCHAR AS value,
    'block ' || d.block || ' was drawn on ' || d.date || ', ' || (b.date - d.date)
        || if(b.date - d.date = 1, ' day', ' days') || ' before it was there (' || b.date || ')' AS message,
    'correct one of the two dates, or the block' AS fix
FROM draws AS d JOIN blocks AS b USING (block) WHERE d.date < b.date
