-- one row per load of comb, or session without a load, and hive that it came from
-- kept: no
-- with: session, load, apiary, hive
-- share: share of the load, several hives evenly
-- mass_g: mass of the whole load, g; missing where weighed nowhere
SELECT l.session, l.row AS load, h.apiary, h.hive, coalesce(h.share, 1) AS share, l.mass_g
FROM loaded_masses AS l LEFT JOIN harvest_hives AS h ON l.source_kind = 'harvest' AND h.harvest = l.source
WHERE l.part = 'comb' OR l.part IS NULL
