-- a container candle much taller than it is wide
-- severity: note
-- message: the container of {candle} is {height_mm} high and {diameter_mm} across, more than {limit} times its width
-- fix: a deep jar is hard to light and burns poorly near the bottom: take a wider one ({source})
-- value: height_mm
-- example: candles + tall,container,plain,50,60,200,,
SELECT 'candles' AS log, c.row, 'height' AS "column", c.candle, c.height_mm, c.diameter_mm, p.high::INTEGER AS "limit", p.source
FROM candles AS c, candle_practice AS p
WHERE p.practice = 'tall_jar' AND c.form = 'container' AND c.height_mm > p.high * greatest(c.diameter_mm, c.top_diameter_mm)
