-- comb on hold that was rendered
-- severity: warning
SELECT 'loads' AS log, l.row, 'source' AS "column", l.named AS value,
    'harvest ' || h.harvest || ' is on hold (' || h.hold || ') and was rendered in session ' || l.session AS message,
    'keep its wax apart and ask your bee inspector or vet; clear hold if the reason has gone' AS fix
FROM load_links AS l JOIN harvests AS h ON l.source_kind = 'harvest' AND h.harvest = l.source WHERE h.hold IS NOT NULL
