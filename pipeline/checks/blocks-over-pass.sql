-- more in blocks and passed on than the last pass gave
-- severity: warning
-- message: blocks ({blocks_g}) and wax passed on ({passed_on_g}) are {over_g} more than the {last_wax_g} that the last pass of session {session} gave
-- message_blocks: the blocks of session {session} weigh {blocks_g}, {over_g} more than its last pass gave ({last_wax_g})
-- message_passed: {passed_on_g} of session {session}'s wax was passed on, {over_g} more than its last pass gave ({last_wax_g})
-- fix: compare wax_out with the blocks cast and the loads of its wax
-- value: last_wax_g
-- grows: over_g
-- example: blocks: 385 -> 485
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", w.last_wax_g, w.blocks_g, w.passed_on_g, -w.casting_g AS over_g, w.session,
    CASE WHEN w.passed_on_g = 0 THEN 'blocks' WHEN w.blocks_g = 0 THEN 'passed' END AS variant,
    if(w.casting_g::DOUBLE ** 2
        <= 4 * (u2('passes', w.last_wax_g) + u2('blocks', w.blocks_g) + u2('loads', w.passed_on_g)), 'note', 'warning') AS severity
FROM session_wax AS w JOIN passes AS p ON p.session = w.session AND p.pass = w.last_pass
WHERE w.casting_g < 0
