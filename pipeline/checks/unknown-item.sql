-- a stocktake of something that no log names, or that several do
-- severity: error
SELECT 'stocktakes' AS log, s.row, 'item' AS "column", s.item AS value,
    if(count(i.id) = 0, 'no block, harvest or candle is named ' || s.item,
       s.item || ' could be ' || string_agg(i.kind || ' ' || i.id, ' or ' ORDER BY i.kind)) AS message,
    if(count(i.id) = 0, 'correct the name', 'name the log first, as in ' || min(i.kind || ' ' || i.id)) AS fix
FROM stocktakes AS s
LEFT JOIN (
    SELECT DISTINCT block AS id, 'block' AS kind FROM blocks
    UNION ALL SELECT DISTINCT harvest, 'harvest' FROM harvests
    UNION ALL SELECT DISTINCT candle, 'candle' FROM candles
) AS i ON i.id = s.item
WHERE s.item IS NOT NULL AND (i.id IS NOT NULL OR (EXISTS (FROM blocks) AND EXISTS (FROM harvests) AND EXISTS (FROM candles)))
    AND NOT EXISTS (
    SELECT 1 FROM (
        SELECT 'block ' || block AS named FROM blocks
        UNION ALL SELECT 'harvest ' || harvest FROM harvests
        UNION ALL SELECT 'candle ' || candle FROM candles
    ) AS p WHERE p.named = s.item)
GROUP BY s.row, s.item HAVING count(i.id) <> 1
