-- one row per charted step at the places $1, in their order
SELECT session, pass, date, loss FROM charted WHERE place IN (SELECT unnest($1::BIGINT[])) ORDER BY place
