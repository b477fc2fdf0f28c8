-- a candle whose wick is not for its width by the maker's chart
-- severity: note
-- message: wick {wick} is for candles of {from_mm} to {to_mm}, and this one is {diameter_mm} across inside
-- fix: take a wick whose range holds it, or test this one
-- value: wick
-- example: candles: 50,,,, -> 50,60,50,,w1
SELECT 'candles' AS log, c.row, 'wick' AS "column", c.wick, w.from_diameter_mm AS from_mm, w.to_diameter_mm AS to_mm,
    x.widest_mm AS diameter_mm
FROM candles AS c JOIN wax_per_candle AS x USING (candle) JOIN wicks AS w ON w.wick = c.wick
WHERE NOT x.widest_mm BETWEEN w.from_diameter_mm AND w.to_diameter_mm AND w.from_diameter_mm <= w.to_diameter_mm
