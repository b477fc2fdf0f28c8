-- one row per weighed step of the sessions looked at: what kind of step it is
SELECT s.session, s.pass, s.stage, s.method, c.comb
FROM pass_steps AS s SEMI JOIN sessions_to_balance USING (session) LEFT JOIN session_wax AS c USING (session)
