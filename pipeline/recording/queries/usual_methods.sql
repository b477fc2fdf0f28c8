-- one row per kind of comb: the method by which this book melts it first most often, the later one of equals
-- comb: the kind of comb
-- method: the method
SELECT comb, arg_max(method, (sessions, latest)) AS method
FROM (
    SELECT h.comb, s.method, count(DISTINCT s.session) AS sessions, max(s.date) AS latest
    FROM loaded_masses AS l JOIN harvests AS h ON l.part = 'comb' AND h.harvest = l.source JOIN sessions AS s USING (session)
    GROUP BY h.comb, s.method
)
GROUP BY comb ORDER BY comb
