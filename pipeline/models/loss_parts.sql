-- one row per weighed step and kind of comb it stands under: the step's masses shared by mass
-- session: the session
-- season: the session's season
-- method: method of the step
-- filter: filter of the step
-- comb: the kind of comb; missing for bought wax and what was not logged
-- stage: first or refining
-- pass: number of the step
-- in_g: mass in, g
-- wax_g: wax out, g
-- residue_g: residue, g
SELECT
    p.session, p.season, p.method, p.filter, c.comb, p.stage, p.pass,
    (p.in_g::DOUBLE * o.share)::DECIMAL(28, 12) AS in_g,
    (p.wax_g::DOUBLE * o.share)::DECIMAL(28, 12) AS wax_g,
    (p.residue_g::DOUBLE * o.share)::DECIMAL(28, 12) AS residue_g
FROM pass_steps AS p
JOIN session_origins AS o USING (session)
LEFT JOIN session_combs AS c ON c.session = o.origin
WHERE p.in_known AND p.in_g IS NOT NULL AND p.wax_g IS NOT NULL
ORDER BY p.session, p.pass, c.comb
