-- one row per movement of a block, blended ones too, up to the date shown
-- kept: as a view
-- with: block, blend, date, turn, rank, row
-- kind: cast, bought, recovered, draw, load, emptied or stocktake
-- mass_g: what it added (negative: took), g
WITH moves AS (
    SELECT block, date, 0 AS turn, 0 AS rank, row,
        CASE WHEN session IS NOT NULL THEN 'cast' WHEN batch IS NOT NULL THEN 'recovered' ELSE 'bought' END AS kind, mass_g
    FROM blocks
    UNION ALL SELECT block, date, 1, 1, row, 'draw', -mass_g FROM draws WHERE mass_g IS NOT NULL
    UNION ALL SELECT source, date, 1, 2, row, 'load', -mass_g FROM loaded_masses WHERE source_kind = 'block' AND weighed
    UNION ALL SELECT source, date, turn, rank, row,
        CASE turn WHEN 3 THEN 'emptied' WHEN 4 THEN 'stocktake' ELSE if(log = 'draws', 'draw', 'load') END, change_g
    FROM source_ledger WHERE source_kind = 'block' AND turn >= 2
)
SELECT m.block, b.blend, m.date, m.turn, m.rank, m.row, m.kind, m.mass_g
FROM moves AS m
LEFT JOIN (SELECT block, blend FROM blocks WHERE blend IS NOT NULL) AS b USING (block)
JOIN settings AS s ON m.date <= s.on_date
WHERE EXISTS (FROM blocks)  -- a draw's block is one of them, or none is logged and draws are not followed
