-- one row per thing of those in trace_reached that holds or held wax, in the order of what was done with it
SELECT t.kind, t.id, t.share, h.date, h.candle, h.wax_g
FROM trace_reached AS t JOIN wax_holders AS h USING (kind, id)
ORDER BY list_position(['session', 'block', 'draw', 'batch', 'sale'], t.kind), h.date, length(t.id), t.id
