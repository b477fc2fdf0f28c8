-- one row per grouping, group and session: what the session gave to the group
-- grouping: book, season, method, comb, apiary or hive
-- name: the group; missing where not logged
-- apiary: of a hive, its apiary
-- session: the session
-- loaded_g: comb loaded, by method slumgum too, g
-- wax_g: wax won, followed to its end, g
-- var_g2: variance that the weighings of the session give to the group's wax over comb, g^2
-- set_aside: whether some of the wax still waits
-- flags: the flags of the session
WITH places AS (
    SELECT y.session, p.apiary, p.hive, (y.loaded_g::DOUBLE * p.share)::DECIMAL(18, 6) AS loaded_g,
        (y.wax_g::DOUBLE * p.share)::DECIMAL(18, 6) AS wax_g, y.u2, y.set_aside, y.flags
    FROM comb_yields AS y JOIN session_places AS p ON p.session = y.origin
),
parts AS (
    SELECT 'book' AS grouping, NULL::VARCHAR AS name, NULL::VARCHAR AS apiary, session,
        loaded_g, wax_g, u2, set_aside, flags
    FROM comb_yields WHERE origin IS NOT NULL
    UNION ALL SELECT 'season', season, NULL, session, loaded_g, wax_g, u2, set_aside, flags
    FROM comb_yields WHERE origin IS NOT NULL
    UNION ALL SELECT 'comb', comb, NULL, session, loaded_g, wax_g, u2, set_aside, flags
    FROM comb_yields WHERE origin IS NOT NULL
    -- slumgum of bought wax has no comb in this book, but the press gave its yield all the same
    UNION ALL SELECT 'method', method, NULL, session, loaded_g + slumgum_g, wax_g, u2, set_aside, flags FROM comb_yields
    UNION ALL SELECT 'apiary', apiary, NULL, session, loaded_g, wax_g, u2, set_aside, flags FROM places
    UNION ALL SELECT 'hive', hive, apiary, session, loaded_g, wax_g, u2, set_aside, flags FROM places
)
SELECT grouping, name, apiary, session, sum(loaded_g)::DECIMAL(18, 6) AS loaded_g, sum(wax_g)::DECIMAL(18, 6) AS wax_g,
    (sum(loaded_g)::DOUBLE ** 2 * any_value(u2))::DECIMAL(38, 12) AS var_g2,
    bool_or(set_aside) AS set_aside, any_value(flags) AS flags
FROM parts
GROUP BY grouping, name, apiary, session
ORDER BY grouping, name, apiary, session
