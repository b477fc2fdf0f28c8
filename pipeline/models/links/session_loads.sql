-- one row per session: what was loaded into it
-- kept: no
-- with: session, loaded_g, known, wax_loaded_g, fed_g, slumgum_g, wax_loads, loads, comb_loads, logged, wax_only
-- with: has_slumgum, own_comb
-- unweighed: whether a load was left empty
SELECT
    session,
    if(bool_and(flow_g IS NOT NULL), sum(flow_g), NULL)::DECIMAL(18, 6) AS loaded_g,
    bool_and(mass_g IS NOT NULL) AS known,
    coalesce(sum(mass_g) FILTER (part = 'wax'), 0)::DECIMAL(18, 6) AS wax_loaded_g,
    if(known, coalesce(sum(mass_g) FILTER (part IS DISTINCT FROM 'wax'), 0), NULL)::DECIMAL(18, 6) AS fed_g,
    coalesce(sum(mass_g) FILTER (part = 'slumgum'), 0)::DECIMAL(18, 6) AS slumgum_g,
    count(*) FILTER (part = 'wax') AS wax_loads,
    count(*) - wax_loads AS loads,
    loads - count(*) FILTER (part = 'slumgum') AS comb_loads,
    count(row) > 0 AS logged,
    loads = 0 AS wax_only,
    loads > comb_loads AS has_slumgum,
    NOT (wax_only OR has_slumgum) AS own_comb,
    bool_or(NOT weighed) AS unweighed
FROM loaded_masses
GROUP BY session
