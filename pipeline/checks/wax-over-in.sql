-- more wax out of a pass than went in
-- severity: warning
-- message: {wax_g} is {over_g} more than went in ({in_g})
-- fix: were the digits swapped, or was a vessel not tared?
-- command: suspects
-- value: wax_g
-- grows: over_g
-- example: passes: 390,5 -> 450,5
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", s.wax_g, s.wax_g - s.in_g AS over_g, s.in_g,
    if((s.wax_g - s.in_g)::DOUBLE ** 2 <= 4 * (u2('passes', s.wax_g) + u2('passes', s.in_g)), 'note', 'warning') AS severity
FROM pass_steps AS s JOIN passes AS p ON p.session = s.session AND p.pass = s.pass + s.passes - 1
WHERE s.wax_g > s.in_g
