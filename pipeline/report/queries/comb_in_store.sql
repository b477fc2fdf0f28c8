-- comb that waits to be rendered or is on hold, by kind, wax set aside, and comb lost in store
SELECT comb AS what, 'waiting' AS state, count(*) AS lots, sum(mass_g) AS mass_g, bool_or(estimated) AS estimated
FROM comb_pending GROUP BY comb
UNION ALL
SELECT comb, 'on hold', count(*), sum(mass_g), bool_or(estimated) FROM comb_on_hold GROUP BY comb
UNION ALL
SELECT 'wax not cast yet', 'set aside', count(*), sum(mass_g), false FROM stock_set_aside HAVING count(*) > 0
UNION ALL
SELECT 'comb', 'lost in store', count(*), sum(mass_g), bool_or(estimated) FROM store_losses HAVING count(*) > 0
ORDER BY list_position(['waiting', 'on hold', 'set aside', 'lost in store'], state), mass_g DESC, what
