-- a container candle narrower or wider than jars that are easy to fill and light
-- severity: note
-- message: the container of {candle} is {diameter_mm} across; {low_mm} to {high_mm} are usual
-- fix: narrow ones sink and are hard to light, wide ones need more than one wick ({source})
-- value: diameter_mm
-- example: candles + wide,container,plain,50,120,60,,
SELECT 'candles' AS log, c.row, 'diameter' AS "column", c.candle, c.diameter_mm, p.low AS low_mm, p.high AS high_mm, p.source
FROM candles AS c, candle_practice AS p
WHERE p.practice = 'easy_jar' AND c.form = 'container' AND (c.diameter_mm < p.low OR c.diameter_mm > p.high)
