-- one row per step back from the things in trace_start, and from all that is behind them
WITH RECURSIVE behind AS (
    SELECT kind, id FROM trace_start
    UNION
    SELECT l.from_kind, l.from_id FROM behind AS b JOIN trace_links AS l ON l.kind = b.kind AND l.id = b.id
)
SELECT kind, id, from_kind, from_id, share FROM trace_links AS l SEMI JOIN behind USING (kind, id)
