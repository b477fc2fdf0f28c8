-- a blended block loaded into a pass
-- severity: error
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named AS value,
    'block ' || l.source || ' is mixed to ' || b.blend || ', so its wax cannot be told from its oil' AS message,
    'draw it from the shelf instead (draws.csv), or correct the block' AS fix
FROM load_links AS l JOIN blocks AS b ON b.block = l.source
WHERE l.source_kind = 'block' AND b.blend IS NOT NULL
