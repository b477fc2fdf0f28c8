-- one row per session: the waterfall from what was loaded to what became of it, closing to the gram
-- with: session, date
-- with: season, method, comb, loaded_g, blocks_g, passed_on_g, set_aside_g, residue_g, unaccounted_g, handling_g
-- with: casting_g
WITH chain AS (
    SELECT session, sum(residue_g)::DECIMAL(18, 6) AS residue_g,
        if(bool_and(in_g IS NOT NULL), sum(unaccounted_g), NULL)::DECIMAL(18, 6) AS unaccounted_g,
        sum(handling_g)::DECIMAL(18, 6) AS handling_g
    FROM pass_steps GROUP BY session
)
SELECT w.session, w.date, w.season, w.method, w.comb, w.loaded_g, w.blocks_g, w.passed_on_g, w.set_aside_g,
    c.residue_g, c.unaccounted_g, if(w.loaded_g IS NULL, NULL, c.handling_g) AS handling_g, w.casting_g
FROM session_wax AS w JOIN chain AS c USING (session)
ORDER BY w.session
