-- one row per block and purity figure that was measured of it
-- with: row, block
-- property: melting_point, acid_value, ester_value or saponification_value (acid + ester)
-- value: what was measured, °C or mg KOH per g
-- low: the lowest that is published, of white wax for a white block and of yellow wax for all others; missing where none is
-- high: the highest
-- source: where the range is published
-- outside: whether it lies outside that range; a genuine wax can
WITH measured AS (
    SELECT row, block, coalesce(colour = 'white', false) AS is_white, 'melting_point' AS property, melting_point_c::DOUBLE AS value
    FROM blocks
    UNION ALL SELECT row, block, coalesce(colour = 'white', false), 'acid_value', acid_value FROM blocks
    UNION ALL SELECT row, block, coalesce(colour = 'white', false), 'ester_value', ester_value FROM blocks
    UNION ALL SELECT row, block, coalesce(colour = 'white', false), 'saponification_value', acid_value + ester_value FROM blocks
)
SELECT m.row, m.block, m.property, m.value, coalesce(o.low, a.low) AS low,
    coalesce(o.high, a.high) AS high,
    coalesce(o.source, a.source) AS source, coalesce(m.value NOT BETWEEN coalesce(o.low, a.low) AND coalesce(o.high, a.high), false) AS outside
FROM measured AS m
LEFT JOIN purity AS o ON o.property = m.property AND o.wax = if(m.is_white, 'white', 'yellow')
LEFT JOIN purity AS a ON a.property = m.property AND a.wax = 'any'
WHERE m.value IS NOT NULL
ORDER BY m.row, m.property
