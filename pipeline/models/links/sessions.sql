-- one row per session, by its passes
-- kept: for answers
-- with: session, date, last_date, season, method
-- first_pass: number of its first pass
-- with: last_pass
-- first_in_g: mass_in of the first pass, g
-- with: last_wax_g, residue_g
-- residue_known: whether every residue was weighed
-- unweighed: whether a wax_out or a residue was left empty
WITH grouped AS (
    SELECT
        session,
        arg_min(date, pass) AS date,
        arg_max(date, pass) AS last_date,
        arg_min(method, pass) AS method,
        min(pass) AS first_pass,
        max(pass) AS last_pass,
        arg_min_null(mass_in_g, pass) AS first_in_g,
        arg_max_null(wax_out_g, pass) AS last_wax_g,
        coalesce(sum(residue_g), 0)::DECIMAL(18, 6) AS residue_g,
        bool_and(residue_g IS NOT NULL) AS residue_known,
        bool_or(residue_g IS NULL OR wax_out_g IS NULL) AS unweighed
    FROM passes
    GROUP BY session
)
SELECT
    session, date, last_date,
    season_of(date) AS season,
    method, first_pass, last_pass, first_in_g, last_wax_g, residue_g, residue_known, unweighed
FROM grouped
ORDER BY session
