-- more in blocks and passed on than the last pass gave
-- severity: warning
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", shown(w.last_wax_g) AS value,
    'blocks (' || shown(w.blocks_g) || ') and wax passed on (' || shown(w.passed_on_g) || ') are ' || shown(-w.casting_g)
        || ' more than the ' || shown(w.last_wax_g) || ' that the last pass of session ' || w.session || ' gave' AS message,
    'compare wax_out with the blocks cast and the loads of its wax' AS fix,
    if(w.casting_g::DOUBLE ** 2
        <= 4 * (u2('passes', w.last_wax_g) + u2('blocks', w.blocks_g) + u2('loads', w.passed_on_g)), 'note', 'warning') AS severity
FROM session_wax AS w JOIN passes AS p ON p.session = w.session AND p.pass = w.last_pass
WHERE w.casting_g < 0
