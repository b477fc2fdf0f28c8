-- one row: what counts of the whole shelf found beyond all movements, the mean of the squares, g^2; the first is left out,
-- which may have brought wax in
SELECT coalesce(avg(found_g ** 2), 0) AS found_g2
FROM (
    SELECT mass_g::DOUBLE AS found_g, row_number() OVER (ORDER BY place) AS n
    FROM shelf_moves WHERE kind = 'stocktake' AND block IS NULL
)
WHERE n > 1
