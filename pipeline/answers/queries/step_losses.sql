-- one row per step of the sessions looked at: what went in, what it did not give back, and the log that it was weighed in
WITH steps AS (FROM pass_steps SEMI JOIN looked_at USING (session))
SELECT 'what goes into pass ' || if(pass = 1, '1', '2 and later') AS place, session,
    (before_g + loaded_g)::DOUBLE AS in_g, handling_g::DOUBLE AS lost_g, 'passes' AS log
FROM steps WHERE in_weighed AND before_g + loaded_g > 0
UNION ALL
SELECT 'refining' || coalesce(' through ' || filter, '') || ' (' || method || ')', session, in_g::DOUBLE,
    unaccounted_g::DOUBLE, 'passes'
FROM steps WHERE stage = 'refining' AND residue_weighed AND in_known AND unaccounted_g IS NOT NULL
UNION ALL
SELECT 'casting', session, (blocks_g + casting_g)::DOUBLE, casting_g::DOUBLE, 'blocks'
FROM flow_by_session SEMI JOIN looked_at USING (session) WHERE blocks_g > 0
ORDER BY place, session, in_g, lost_g
