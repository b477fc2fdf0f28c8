-- one row per session whose yield is known: what it gave, at face value
-- session: the session
-- loaded: what it was fed: comb, slumgum, or both
-- loaded_g: comb and slumgum loaded, g
-- wax_g: blocks, wax passed on and set aside, less wax loaded, g
-- yield: wax_g over loaded_g
WITH fed AS (
    SELECT session, bool_or(part = 'comb') AS comb, bool_or(part = 'slumgum') AS slumgum FROM loaded_masses GROUP BY session
)
SELECT y.session, y.loaded_g, y.wax_g, y.yield,
    CASE WHEN f.comb AND f.slumgum THEN 'comb and slumgum' WHEN f.slumgum THEN 'slumgum' ELSE 'comb' END AS loaded
FROM yields_by_session AS y LEFT JOIN fed AS f USING (session)
WHERE y.yield IS NOT NULL AND y.loaded_g > 0
ORDER BY y.session
