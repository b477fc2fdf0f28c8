-- two rows of a log without names that are the same in every cell
-- severity: note
-- message: the row is the same in every cell as line {first_row}
-- message_sale: the same sale stands on line {first_row}: entered twice?
-- fix: delete it if it was entered twice; two equal weighings may stand
-- value: told
-- example: draws + 2025-07-01,B2,50,candles,P1
WITH rows AS (  -- of long logs only rows that name the same things twice: few, and cheaply found
    SELECT 'loads' AS log, row, session AS told, hash(session, source, part, mass_g, pass, notes) AS h FROM loads
    SEMI JOIN (SELECT session, source FROM loads GROUP BY ALL HAVING count(*) > 1) USING (session, source)
    UNION ALL
    SELECT 'draws', row, block, hash(date, block, mass_g, use, batch, price, notes) FROM draws
    SEMI JOIN (SELECT date, block FROM draws GROUP BY ALL HAVING count(*) > 1) USING (date, block)
    UNION ALL SELECT 'sales', row, candle, hash(date, candle, count, batch, price, place, notes) FROM sales
    UNION ALL SELECT 'stocktakes', row, item, hash(date, item, mass_g, count, notes) FROM stocktakes
)
SELECT log, row, NULL::VARCHAR AS "column", told, first AS first_row, if(log = 'sales', 'sale', NULL) AS variant
FROM rows JOIN (SELECT log, h, min(row) AS first FROM rows GROUP BY log, h HAVING count(*) > 1) USING (log, h)
WHERE row > first
