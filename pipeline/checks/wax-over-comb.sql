-- more wax than comb of that kind can hold
-- severity: warning
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", shown(s.wax_g) AS value,
    shown(s.wax_g) || ' from ' || shown(s.in_g) || ' of ' || f.comb || ' is ' || round(100 * s.wax_g / s.in_g)::INTEGER
        || ' %, and such comb holds at most ' || round(100 * k.ceiling_share)::INTEGER || ' % wax' AS message,
    'compare the weights and the kind of comb (limit: ' || k.source || ')' AS fix
FROM pass_steps AS s
JOIN session_flow AS f USING (session)
JOIN session_loads AS l USING (session)
JOIN comb_kinds AS k ON k.comb = f.comb
JOIN passes AS p ON p.session = s.session AND p.pass = s.pass + s.passes - 1
WHERE s.stage = 'first' AND s.wax_g <= s.in_g AND l.wax_loaded_g = 0 AND s.wax_g > k.ceiling_share * s.in_g
