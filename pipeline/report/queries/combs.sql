-- yield by kind of comb over the whole book, beside the range expected of the kind
SELECT y.comb, y.sessions, y.loaded_g, y.wax_g, y.yield, y.u, k.low_share, k.high_share
FROM yields_by_comb AS y LEFT JOIN comb_kinds AS k USING (comb)
ORDER BY y.loaded_g DESC, y.comb
