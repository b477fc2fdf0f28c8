-- one row per session whose wax waits to be strained again or cast, the latest first
-- session: the session
-- mass_g: what waits, g
SELECT session, mass_g FROM stock_set_aside ORDER BY date DESC, session DESC
