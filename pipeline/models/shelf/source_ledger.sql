-- one row per movement in source_moves, with what it really took
-- with: source_kind, source, part, date, turn, rank, log, row
-- counted: whether a stocktake had weighed the source by then
-- change_g: what it added (negative: took), g
-- left_g: what was left after it, g
WITH placed AS (  -- the rows come sorted, and a window without an order of its own takes them so
    SELECT *, row_number() OVER () AS place,
        (source_kind, source, part) IS DISTINCT FROM lag((source_kind, source, part)) OVER () AS is_first
    FROM (FROM source_moves ORDER BY source_kind, source, part, date, turn, rank, row)
),
eras AS (  -- each source, and each count of it, starts anew
    SELECT place, is_first, turn, mass_g, counted_g,
        count(*) FILTER (is_first OR counted_g IS NOT NULL) OVER (ROWS UNBOUNDED PRECEDING) AS era
    FROM placed
),
flat AS (  -- as if nobody had ever taken all that was left
    SELECT *, sum(coalesce(counted_g, mass_g, 0)) OVER w AS flat_g, first_value(counted_g) OVER w IS NOT NULL AS counted
    FROM eras WINDOW w AS (PARTITION BY era ORDER BY place ROWS UNBOUNDED PRECEDING)
),
taken AS (
    -- takers of all that was left leave nothing: together they took the highest level that one of them met
    SELECT place, is_first, counted, flat_g - coalesce(max(greatest(flat_g, 0)) FILTER (turn IN (2, 3)) OVER (
        PARTITION BY era ORDER BY place ROWS UNBOUNDED PRECEDING), 0) AS left_g
    FROM flat
),
changed AS (
    SELECT *, left_g - if(is_first, 0, lag(left_g) OVER (ORDER BY place)) AS change_g FROM taken
)
SELECT p.source_kind, p.source, p.part, p.date, p.turn, p.rank, p.log, p.row, c.counted,
    c.change_g::DECIMAL(18, 6) AS change_g, c.left_g::DECIMAL(18, 6) AS left_g
FROM placed AS p JOIN changed AS c USING (place)
