-- one row: the melts of the sessions named, all together: how many passes, the hottest and the longest of them
SELECT count(*) AS passes, max(peak_temp_c)::DOUBLE AS hottest_c, max(time_min)::DOUBLE AS longest_min
FROM passes WHERE list_contains($1, session)
