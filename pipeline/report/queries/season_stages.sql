-- what first melts and refining passes of the latest season lost
SELECT stage, sum(residue_g) AS residue_g, sum(unaccounted_g) AS unaccounted_g
FROM losses_by_group WHERE grouping = 'season' AND season = (SELECT max(season) FROM flow_by_session)
GROUP BY stage ORDER BY stage
