-- comb that waits to be rendered, by kind, and comb on hold
SELECT comb, 'waiting' AS state, count(*) AS lots, sum(mass_g) AS mass_g, bool_or(estimated) AS estimated
FROM comb_pending GROUP BY comb
UNION ALL
SELECT comb, 'on hold', count(*), sum(mass_g), bool_or(estimated) FROM comb_on_hold GROUP BY comb
ORDER BY state DESC, mass_g DESC, comb
