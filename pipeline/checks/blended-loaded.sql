-- a blended block loaded into a pass
-- severity: error
-- message: block {source} is mixed to {blend}, so its wax cannot be told from its oil
-- fix: take it off the shelf instead (draws.csv), or correct the block
-- value: named
-- example: blocks: neighbour, -> neighbour,plain && passes + S2,1,2025-06-10,steam,,100,5, && loads + S2,B2,,,
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named, l.source, b.blend
FROM load_source_kinds AS l JOIN blocks AS b ON b.block = l.source
WHERE l.source_kind = 'block' AND b.blend IS NOT NULL
