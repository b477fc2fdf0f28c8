-- one row per kind of step between two marked changes: its place among the charted steps, and how many there are
SELECT stage, method, comb, era, min(place) AS place, count(*) AS steps FROM charted GROUP BY ALL ORDER BY place
