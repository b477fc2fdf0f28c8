-- more wax than comb of that kind can hold
-- severity: warning
WITH full_combs AS (
    SELECT s.session, s.pass + s.passes - 1 AS pass, s.in_g, s.wax_g, w.comb, k.ceiling_share, k.source
    FROM pass_steps AS s JOIN session_wax AS w USING (session) JOIN comb_kinds AS k ON k.comb = w.comb
    WHERE s.stage = 'first' AND s.wax_g <= s.in_g AND w.wax_loaded_g = 0 AND s.wax_g > k.ceiling_share * s.in_g
)
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", shown(f.wax_g) AS value,
    shown(f.wax_g) || ' from ' || shown(f.in_g) || ' of ' || f.comb || ' is ' || round(100 * f.wax_g / f.in_g)::INTEGER
        || ' %, and such comb holds at most ' || round(100 * f.ceiling_share)::INTEGER || ' % wax' AS message,
    'compare the weights and the kind of comb (limit: ' || f.source || ')' AS fix
FROM full_combs AS f JOIN passes AS p USING (session, pass)
