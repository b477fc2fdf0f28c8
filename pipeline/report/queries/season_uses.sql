-- where the blocks of the latest season went
SELECT CASE m.kind WHEN 'load' THEN 'melted again' WHEN 'draw' THEN coalesce(d.use, 'other') ELSE 'by stocktake' END
        AS went_to,
    -sum(m.mass_g) AS mass_g
FROM block_moves AS m
JOIN blocks AS b USING (block)
JOIN flow_by_session AS s ON s.session = b.session
LEFT JOIN draws AS d ON m.kind = 'draw' AND d.row = m.row
WHERE s.season = (SELECT max(season) FROM flow_by_session) AND m.kind NOT IN ('cast', 'bought', 'recovered')
GROUP BY 1 ORDER BY 2 DESC, 1
