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
WITH kinds AS (  -- only sessions with slumgum can stand in several rows: those keep their names, the others are counted
    SELECT season, comb, method, origin IS NOT NULL AS of_comb, if(has_slumgum, session, NULL) AS named,
        count(*) FILTER (NOT has_slumgum) AS others, sum(loaded_g) AS loaded_g, sum(slumgum_g) AS slumgum_g,
        sum(wax_g) AS wax_g, sum(var_g2) AS var_g2, sum(method_var_g2) AS method_var_g2, bool_or(has_slumgum) AS has_slumgum,
        bool_or(wax_loaded) AS wax_loaded, bool_or(set_aside) AS set_aside, bool_or(unweighed) AS unweighed
    FROM comb_yields GROUP BY ALL
),
sites AS (
    SELECT p.apiary, p.hive, if(y.has_slumgum OR NOT p.alone, y.session, NULL) AS named,
        count(*) FILTER (named IS NULL) AS others,
        sum((y.loaded_g::DOUBLE * p.share)::DECIMAL(28, 12)) AS loaded_g,
        sum((y.wax_g::DOUBLE * p.share)::DECIMAL(28, 12)) AS wax_g,
        sum((y.var_g2::DOUBLE * p.share * p.share)::DECIMAL(38, 18)) AS var_g2,
        sum((y.var_g2::DOUBLE * p.share * p.apiary_share)::DECIMAL(38, 18)) AS apiary_var_g2,
        bool_or(has_slumgum) AS has_slumgum, bool_or(wax_loaded) AS wax_loaded, bool_or(set_aside) AS set_aside,
        bool_or(unweighed) AS unweighed
    FROM comb_yields AS y JOIN session_places AS p ON p.session = y.origin GROUP BY ALL
),
parts AS (
    SELECT 'book' AS grouping, NULL AS name, NULL AS apiary, * FROM kinds WHERE of_comb
    UNION ALL BY NAME SELECT 'season' AS grouping, season AS name, * FROM kinds WHERE of_comb
    UNION ALL BY NAME SELECT 'comb' AS grouping, comb AS name, * FROM kinds WHERE of_comb
    -- slumgum of bought wax has no comb in this book, but the press gave its yield all the same
    UNION ALL BY NAME SELECT 'method' AS grouping, method AS name,
        * REPLACE (loaded_g + slumgum_g AS loaded_g, method_var_g2 AS var_g2) FROM kinds
    UNION ALL BY NAME SELECT 'apiary' AS grouping, apiary AS name, * EXCLUDE (apiary) REPLACE (apiary_var_g2 AS var_g2) FROM sites
    UNION ALL BY NAME SELECT 'hive' AS grouping, hive AS name, * FROM sites
)
SELECT
    grouping, name, apiary, (sum(others) + count(DISTINCT named))::BIGINT AS sessions,
    sum(loaded_g)::DECIMAL(18, 6) AS loaded_g, sum(wax_g)::DECIMAL(18, 6) AS wax_g,
    sum(wax_g)::DOUBLE / nullif(sum(loaded_g), 0)::DOUBLE AS yield,
    sqrt(sum(var_g2)::DOUBLE) / nullif(sum(loaded_g), 0)::DOUBLE AS u,
    list_filter([if(bool_or(has_slumgum), 'slumgum', NULL), if(bool_or(wax_loaded), 'wax_loaded', NULL),
        if(bool_or(set_aside), 'set_aside', NULL), if(bool_or(unweighed), 'unweighed', NULL)], lambda x: x IS NOT NULL) AS flags
FROM parts
GROUP BY grouping, name, apiary
ORDER BY grouping, name, apiary
