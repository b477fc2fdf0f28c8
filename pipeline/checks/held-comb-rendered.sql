-- comb on hold that was rendered
-- severity: warning
-- message: harvest {harvest} is on hold ({hold}) and was rendered in session {session}
-- fix: keep its wax apart and ask your bee inspector or vet; clear hold if the reason has gone
-- value: named
-- example: harvests: 1000,, -> 1000,,treatment
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named, h.harvest, h.hold, l.session
FROM load_source_kinds AS l JOIN harvests AS h ON l.source_kind = 'harvest' AND h.harvest = l.source WHERE h.hold IS NOT NULL
