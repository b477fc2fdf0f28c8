-- one row per step back into the things in trace_start, and into all that came of them
WITH RECURSIVE ahead AS (
    SELECT kind, id FROM trace_start
    UNION
    SELECT l.kind, l.id FROM ahead AS a JOIN trace_links AS l ON l.from_kind = a.kind AND l.from_id = a.id
)
SELECT l.* FROM trace_links AS l SEMI JOIN ahead AS a ON l.from_kind = a.kind AND l.from_id = a.id
