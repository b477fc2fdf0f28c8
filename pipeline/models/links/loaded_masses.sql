-- one row per load into a pass, and one per session without a load: what went in
-- row: the load's row in loads; missing for a session without a load, whose first mass_in stands for it
-- with: session, pass, date, source_kind, source, part
-- mass_g: its mass, g: weighed, all that was left, or what mass_in leaves; missing where it cannot be known
-- flow_g: the same, and an estimate by frames where it was weighed nowhere, g
-- with: weighed
WITH gaps AS (  -- passes that took comb weighed nowhere
    SELECT session, pass, count(*) AS loads, sum(estimate_g) AS estimate_g,
        bool_and(estimate_g IS NOT NULL) AS estimable
    FROM loads_taking_the_rest WHERE mass_g IS NULL GROUP BY session, pass
),
known AS (
    SELECT session, pass, sum(mass_g) AS mass_g FROM loads_taking_the_rest SEMI JOIN gaps USING (session, pass)
    GROUP BY session, pass
),
chain AS (
    SELECT session, pass, mass_in_g, lag(pass) OVER w IS NULL AS is_first, lag(wax_out_g) OVER w AS before_g
    FROM passes SEMI JOIN gaps USING (session)
    WINDOW w AS (PARTITION BY session ORDER BY pass)
),
room AS (  -- what mass_in leaves beside the other loads and the last wax
    SELECT g.session, g.pass,
        greatest(c.mass_in_g - if(c.is_first, 0, c.before_g) - coalesce(k.mass_g, 0), 0)::DECIMAL(18, 6) AS room_g,
        g.loads, if(g.estimable AND g.estimate_g > 0, g.estimate_g, NULL)::DOUBLE AS estimate_g
    FROM gaps AS g JOIN chain AS c USING (session, pass) LEFT JOIN known AS k USING (session, pass)
    WHERE c.mass_in_g IS NOT NULL AND (c.is_first OR c.before_g IS NOT NULL)
),
filled AS (
    SELECT t.*, coalesce(t.mass_g, if(r.loads = 1, r.room_g,
        r.room_g::DOUBLE * coalesce(t.estimate_g::DOUBLE / r.estimate_g, 1.0 / r.loads))::DECIMAL(18, 6)) AS found_g
    FROM loads_taking_the_rest AS t LEFT JOIN room AS r USING (session, pass)
)
SELECT row, session, pass, date, source_kind, source, part, found_g AS mass_g,
    coalesce(found_g, estimate_g) AS flow_g, weighed
FROM filled
UNION ALL
SELECT NULL, s.session, s.first_pass, s.date, NULL, NULL, NULL, s.first_in_g, s.first_in_g, true
FROM sessions AS s ANTI JOIN loads_taking_the_rest AS t USING (session)
ORDER BY session, pass, row
