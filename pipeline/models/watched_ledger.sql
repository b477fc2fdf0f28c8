-- one row per movement of a watched source, with what it really took
-- kept: no
-- source_kind: harvest, block or session
-- source: its id
-- part: comb, wax or slumgum
-- date: the day
-- turn: order within the day: 0 in, 1 out by weight, 2 all that is left, 3 emptied, 4 stocktake
-- rank: order among the movements of a turn
-- log: the log it stands in
-- row: its row in that log
-- counts: how many stocktakes there were up to it, itself included
-- change_g: what it added (negative: took), g
-- left_g: what was left after it, g
WITH eras AS (
    SELECT *, count(counted_g) OVER (PARTITION BY source_kind, source, part
        ORDER BY date, turn, rank, row ROWS UNBOUNDED PRECEDING) AS counts
    FROM watched_moves
),
flat AS (  -- as if nobody had ever taken all that was left
    SELECT *, sum(coalesce(counted_g, mass_g, 0)) OVER (PARTITION BY source_kind, source, part, counts
        ORDER BY date, turn, rank, row ROWS UNBOUNDED PRECEDING) AS flat_g
    FROM eras
),
taken AS (
    -- takers of all that was left leave nothing: together they took the highest level that one of them met
    SELECT *, flat_g - coalesce(max(greatest(flat_g, 0)) FILTER (turn IN (2, 3)) OVER (
        PARTITION BY source_kind, source, part, counts
        ORDER BY date, turn, rank, row ROWS UNBOUNDED PRECEDING), 0) AS left_g
    FROM flat
)
SELECT
    source_kind, source, part, date, turn, rank, log, row, counts,
    (left_g - lag(left_g, 1, 0) OVER (PARTITION BY source_kind, source, part
        ORDER BY date, turn, rank, row))::DECIMAL(18, 6) AS change_g,
    left_g::DECIMAL(18, 6) AS left_g
FROM taken
