-- one row per grouping and group: wax won over comb loaded, a ratio of sums
-- grouping: book, season, method, comb, apiary or hive
-- name: the group; missing where not logged
-- apiary: of a hive, its apiary
-- sessions: how many sessions have a part in it
-- loaded_g: comb loaded, g; slumgum in the rows of a method that melted slumgum
-- wax_g: wax won, followed to its end, g
-- yield: wax / loaded
-- u: standard uncertainty of the yield
-- flags: what applies to one of its sessions; set_aside where wax followed to its end still waits
WITH places AS (
    SELECT p.apiary, p.hive, y.* REPLACE (
            (y.loaded_g::DOUBLE * p.share)::DECIMAL(28, 12) AS loaded_g,
            (y.wax_g::DOUBLE * p.share)::DECIMAL(28, 12) AS wax_g,
            (y.var_g2::DOUBLE * p.share * p.share)::DECIMAL(38, 18) AS var_g2),
        (y.var_g2::DOUBLE * p.share * p.apiary_share)::DECIMAL(38, 18) AS apiary_var_g2
    FROM comb_yields AS y JOIN session_places AS p ON p.session = y.origin
),
parts AS (
    SELECT CASE grouping_id(season, comb) WHEN 3 THEN 'book' WHEN 1 THEN 'season' ELSE 'comb' END AS grouping,
        if(grouping_id(season, comb) = 1, season, comb) AS name, NULL AS apiary, count(DISTINCT session) AS sessions,
        sum(loaded_g) AS loaded_g, sum(wax_g) AS wax_g, sum(var_g2) AS var_g2, bool_or(has_slumgum) AS has_slumgum,
        bool_or(wax_loaded) AS wax_loaded, bool_or(set_aside) AS set_aside, bool_or(unweighed) AS unweighed
    FROM comb_yields WHERE origin IS NOT NULL GROUP BY GROUPING SETS ((), (season), (comb))
    UNION ALL
    -- slumgum of bought wax has no comb in this book, but the press gave its yield all the same
    SELECT 'method', method, NULL, count(DISTINCT session), sum(loaded_g + slumgum_g), sum(wax_g), sum(method_var_g2),
        bool_or(has_slumgum), bool_or(wax_loaded), bool_or(set_aside), bool_or(unweighed)
    FROM comb_yields GROUP BY method
    UNION ALL
    SELECT 'apiary', apiary, NULL, count(DISTINCT session), sum(loaded_g), sum(wax_g), sum(apiary_var_g2),
        bool_or(has_slumgum), bool_or(wax_loaded), bool_or(set_aside), bool_or(unweighed)
    FROM places GROUP BY apiary
    UNION ALL
    SELECT 'hive', hive, apiary, count(DISTINCT session), sum(loaded_g), sum(wax_g), sum(var_g2),
        bool_or(has_slumgum), bool_or(wax_loaded), bool_or(set_aside), bool_or(unweighed)
    FROM places GROUP BY apiary, hive
)
SELECT
    grouping, name, apiary, sessions, loaded_g::DECIMAL(18, 6) AS loaded_g, wax_g::DECIMAL(18, 6) AS wax_g,
    wax_g::DOUBLE / nullif(loaded_g, 0)::DOUBLE AS yield,
    sqrt(var_g2::DOUBLE) / nullif(loaded_g, 0)::DOUBLE AS u,
    list_filter([if(has_slumgum, 'slumgum', NULL), if(wax_loaded, 'wax_loaded', NULL),
        if(set_aside, 'set_aside', NULL), if(unweighed, 'unweighed', NULL)], lambda x: x IS NOT NULL) AS flags
FROM parts
WHERE sessions > 0
ORDER BY grouping, name, apiary
