-- more wax out of a pass than went in
-- severity: warning
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", shown(s.wax_g) AS value,
    shown(s.wax_g) || ' is ' || shown(s.wax_g - s.in_g) || ' more than went in (' || shown(s.in_g) || ')' AS message,
    'did digits swap, or was a vessel not tared? combtally suspects weighs the likely slips' AS fix,
    if((s.wax_g - s.in_g)::DOUBLE ** 2 <= 4 * (u2('passes', s.wax_g) + u2('passes', s.in_g)), 'note', 'warning') AS severity
FROM pass_steps AS s JOIN passes AS p ON p.session = s.session AND p.pass = s.pass + s.passes - 1
WHERE s.wax_g > s.in_g
