-- mass_in that differs from what was loaded and the wax of the pass before
-- severity: warning
-- message: {in_g} is {off_g} {direction} than {expected} ({expected_g})
-- fix: were all loads logged, and was the same scale used?
-- value: in_g
-- grows: off_g
-- example: passes: water bath,400 -> water bath,460
SELECT 'passes' AS log, p.row, 'mass_in' AS "column", s.in_g, abs(s.handling_g) AS off_g,
    if(s.handling_g < 0, 'more', 'less') AS direction, s.before_g + s.loaded_g AS expected_g,
    if(s.before_g > 0 AND s.loaded_g > 0, 'the wax of the pass before and the loads together',
        if(s.before_g > 0, 'the wax of the pass before', 'what was loaded')) AS expected,
    if(s.handling_g::DOUBLE ** 2 <= 4 * (u2('passes', s.in_g) + if(s.before_g > 0, u2('passes', s.before_g), 0)
        + if(s.loaded_g > 0, u2('loads', s.loaded_g), 0)), 'note', 'warning') AS severity
FROM pass_steps AS s JOIN passes AS p USING (session, pass)
WHERE s.in_weighed AND s.handling_g <> 0
