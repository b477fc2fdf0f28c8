-- where the wax of the latest sessions went
WITH latest AS (FROM flow_by_session ORDER BY date DESC, session DESC LIMIT 8)
SELECT f.session, f.date, f.method,
    CASE WHEN f.comb IS NOT NULL THEN f.comb WHEN list_contains(y.flags, 'slumgum') THEN 'slumgum'
        WHEN list_contains(y.flags, 'wax_loaded') THEN 'wax' END AS comb,
    f.loaded_g, f.blocks_g, f.passed_on_g, f.set_aside_g, f.residue_g,
    f.unaccounted_g, coalesce(f.handling_g, 0) + coalesce(f.casting_g, 0) AS work_g, y.yield
FROM latest AS f LEFT JOIN yields_by_session AS y USING (session)
ORDER BY f.date DESC, f.session DESC
