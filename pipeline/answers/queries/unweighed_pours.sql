-- one row per pour that nobody weighed the wax of
SELECT date FROM assumed_draws ORDER BY date
