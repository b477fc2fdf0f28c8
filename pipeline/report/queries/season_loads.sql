-- what the latest season loaded: comb by kind, slumgum, and wax from this season's sessions or from elsewhere
SELECT CASE WHEN l.part = 'wax' OR l.source_kind = 'block' THEN if(f.season = s.season, 'wax of the season', 'other wax')
        WHEN l.part = 'slumgum' THEN 'slumgum' ELSE 'comb' END AS part,
    CASE WHEN l.source_kind = 'harvest' THEN h.comb END AS comb,
    sum(l.flow_g) AS mass_g
FROM loaded_masses AS l
JOIN flow_by_session AS s ON s.session = l.session
LEFT JOIN flow_by_session AS f ON l.source_kind = 'session' AND f.session = l.source
LEFT JOIN harvests AS h ON l.source_kind = 'harvest' AND h.harvest = l.source
WHERE s.season = (SELECT max(season) FROM flow_by_session)
GROUP BY ALL ORDER BY mass_g DESC, comb
