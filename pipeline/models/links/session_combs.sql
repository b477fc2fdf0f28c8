-- one row per session that comb was loaded into: the kind of comb it stands under
-- kept: no
-- with: session
-- comb: the one kind that makes up 90 % or more of its comb by mass, else mixed; missing where not logged
WITH kinds AS (
    SELECT l.session, h.comb, coalesce(sum(l.flow_g), 0)::DECIMAL(18, 6) AS mass_g
    FROM loaded_masses AS l LEFT JOIN harvests AS h ON h.harvest = l.source
    WHERE l.part = 'comb' OR l.part IS NULL
    GROUP BY l.session, h.comb
)
SELECT
    session,
    if(count(*) = 1 OR (sum(mass_g) > 0 AND max(mass_g) * 10 >= sum(mass_g) * 9), arg_max_null(comb, mass_g), 'mixed')
        AS comb
FROM kinds
GROUP BY session
