-- one row per weighed refining step: its method and the share that it lost
SELECT method, loss::DOUBLE AS share FROM pass_steps WHERE stage = 'refining' AND loss IS NOT NULL ORDER BY date, session, pass
