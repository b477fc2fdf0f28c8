-- one row per session
-- session: the session
-- last_pass: the number of its last pass
SELECT session, last_pass FROM sessions
