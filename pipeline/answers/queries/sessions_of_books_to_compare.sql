-- one row per session of comb alone: its comb, method and yield
SELECT comb, method, yield::DOUBLE AS share FROM yields_by_session
WHERE yield IS NOT NULL AND comb IS NOT NULL AND method IS NOT NULL AND NOT list_contains(flags, 'slumgum')
ORDER BY date, session
