-- yield by kind of comb over the whole book, beside the range expected of the kind
SELECT y.comb, y.sessions, y.loaded_g, y.wax_g, y.yield, y.u, y.flags, k.low_share, k.high_share
FROM yields_by_group AS y LEFT JOIN comb_kinds AS k ON k.comb = y.comb
WHERE y.grouping = 'comb'
ORDER BY y.loaded_g DESC, y.comb
