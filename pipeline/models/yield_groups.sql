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
SELECT
    grouping, name, apiary, count(*) AS sessions,
    sum(loaded_g)::DECIMAL(18, 6) AS loaded_g,
    sum(wax_g)::DECIMAL(18, 6) AS wax_g,
    sum(wax_g)::DOUBLE / nullif(sum(loaded_g), 0)::DOUBLE AS yield,
    sqrt(sum(var_g2)::DOUBLE) / nullif(sum(loaded_g), 0)::DOUBLE AS u,
    list_filter([
        if(bool_or(list_contains(flags, 'slumgum')), 'slumgum', NULL),
        if(bool_or(list_contains(flags, 'wax_loaded')), 'wax_loaded', NULL),
        if(bool_or(set_aside), 'set_aside', NULL),
        if(bool_or(list_contains(flags, 'unweighed')), 'unweighed', NULL)
    ], lambda x: x IS NOT NULL) AS flags
FROM yield_parts
GROUP BY grouping, name, apiary
ORDER BY grouping, name, apiary
