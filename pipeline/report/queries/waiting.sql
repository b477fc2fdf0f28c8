-- wax set aside, session by session
SELECT session, date, mass_g FROM stock_set_aside ORDER BY mass_g DESC, session
