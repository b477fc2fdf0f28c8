-- one row per session: what was loaded into it
-- kept: no
-- session: the session
-- loaded_g: everything loaded over its passes, estimates by frames included, g; missing where even they fail
-- known: whether all of it is known, not estimated
-- wax_loaded_g: of it blocks and wax of other sessions, g
-- fed_g: of it comb and slumgum, g; missing where not known
-- slumgum_g: of it slumgum, g
-- wax_loads: how many loads of wax
-- loads: how many loads other than wax
-- comb_loads: of them comb, or what nobody logged
-- logged: whether it has a load at all
-- wax_only: whether it was fed by wax alone
-- has_slumgum: whether slumgum was loaded
-- own_comb: whether neither slumgum nor wax alone was loaded, so that its slumgum and losses belong to its own comb
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
FROM load_sources
GROUP BY session
