-- one row per session whose wax went into others, or that was fed by wax alone: what its own wax became in the end
-- kept: no
-- with: session
-- end_g: blocks, wax set aside, and what later sessions made of the wax passed on, g
-- aside_g: of it wax that is still set aside, g
WITH RECURSIVE onward AS (  -- wax loaded into a session fed by wax alone, and its share of what that session made
    SELECT w.source AS session, w.session AS later, sum(w.mass_g)::DOUBLE / nullif(l.wax_loaded_g, 0)::DOUBLE AS share
    FROM loaded_masses AS w JOIN session_loads AS l ON l.session = w.session
    WHERE w.source_kind = 'session' AND w.part = 'wax' AND l.wax_only
    GROUP BY w.source, w.session, l.wax_loaded_g
),
beside AS (  -- wax loaded beside comb or slumgum keeps its mass
    SELECT w.source AS session, sum(w.mass_g) AS mass_g
    FROM loaded_masses AS w JOIN session_loads AS l ON l.session = w.session
    WHERE w.source_kind = 'session' AND w.part = 'wax' AND NOT l.wax_only
    GROUP BY w.source
),
kept AS (
    SELECT w.session, (w.blocks_g + w.set_aside_g + coalesce(b.mass_g, 0))::DECIMAL(28, 12) AS end_g,
        w.set_aside_g::DECIMAL(28, 12) AS aside_g
    FROM session_wax AS w LEFT JOIN beside AS b USING (session)
    WHERE w.passes_on > 0 OR w.wax_only
),
longest AS (
    SELECT count(DISTINCT later) AS steps FROM onward  -- bounds the walk where sources run in a loop
),
back AS (
    SELECT session, end_g, aside_g, 0 AS depth FROM kept
    UNION ALL
    SELECT o.session, sum((b.end_g::DOUBLE * o.share)::DECIMAL(28, 12))::DECIMAL(28, 12),
        sum((b.aside_g::DOUBLE * o.share)::DECIMAL(28, 12))::DECIMAL(28, 12), b.depth + 1
    FROM back AS b JOIN onward AS o ON o.later = b.session JOIN longest ON b.depth < steps
    GROUP BY o.session, b.depth
)
SELECT session, sum(end_g)::DECIMAL(28, 12) AS end_g, sum(aside_g)::DECIMAL(28, 12) AS aside_g
FROM back
GROUP BY session
