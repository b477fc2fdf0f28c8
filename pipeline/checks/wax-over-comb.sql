-- more wax than comb of that kind can hold
-- severity: warning
-- message: {wax_g} from {in_g} of {comb} is {found_share}, and such comb holds at most {ceiling_share} wax
-- fix: compare the weights and the kind of comb (limit: {source})
-- value: wax_g
-- grows: found_share
-- example: passes: 1000,400 -> 1000,800
WITH full_combs AS (
    SELECT s.session, s.pass + s.passes - 1 AS pass, s.in_g, s.wax_g, w.comb, k.ceiling_share, k.source
    FROM pass_steps AS s JOIN session_wax AS w USING (session) JOIN comb_kinds AS k ON k.comb = w.comb
    WHERE s.stage = 'first' AND s.wax_g <= s.in_g AND w.wax_loaded_g = 0 AND s.wax_g > k.ceiling_share * s.in_g
)
SELECT 'passes' AS log, p.row, 'wax_out' AS "column", f.wax_g, f.in_g, f.comb, f.wax_g::DOUBLE / f.in_g AS found_share,
    f.ceiling_share, f.source
FROM full_combs AS f JOIN passes AS p USING (session, pass)
