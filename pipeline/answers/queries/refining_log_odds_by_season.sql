-- one row per season and kind of refining pass: how many lost a share that can be known, the sums of its log odds and of
-- their squares, and of the shares; lots under 500 g are left out, a loss under .1 % is the scale's
WITH losses AS (
    SELECT season, method, filter, greatest(least(loss, 0.999), 0.001) AS within, ln(within / (1 - within)) AS odds
    FROM (FROM pass_steps WHERE stage = 'refining' AND loss IS NOT NULL AND in_g >= 500 AND season IS NOT NULL)
)
SELECT season, method, filter, count(*) AS n, sum(odds::DECIMAL(38, 15))::DOUBLE AS odds,
    sum((odds ** 2)::DECIMAL(38, 15))::DOUBLE AS odds2, sum(within::DECIMAL(38, 15))::DOUBLE AS shares
FROM losses GROUP BY ALL ORDER BY season, method, filter NULLS LAST
