-- one row per session that is looked at: the $1 latest, all where $1 is missing
SELECT session, date FROM sessions ORDER BY date DESC, session DESC LIMIT coalesce($1, (SELECT count(*) FROM sessions))
