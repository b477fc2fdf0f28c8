-- a temperature that fits the other unit better, or is past the limit for fire
-- severity: warning
-- message: {celsius} °C is past every limit for hot wax ({limit_c}); {celsius} °F would be {meant_c}
-- message_fire: {heat_c} is past the limit for fire ({limit_c})
-- fix_fire: correct the figure; wax so hot can catch fire: heat it over water, by a thermometer
-- message_cold: {heat_c} is too cold for molten wax, which melts at {melts_c} to {melts_most_c}; was {fahrenheit} °C meant?
-- fix: write the unit beside the figure, such as 170 °F
-- value: heat_c
-- example: passes: 78 -> 170
WITH heats AS (
    SELECT 'passes' AS log, row, 'peak_temp' AS "column", peak_temp_c AS c FROM passes
    UNION ALL SELECT 'batches', row, 'pour_temp', pour_temp_c FROM batches
    UNION ALL SELECT 'batches', row, 'scent_temp', scent_temp_c FROM batches
    UNION ALL SELECT 'blocks', row, 'melting_point', melting_point_c FROM blocks
)
SELECT h.log, h.row, h."column", c AS heat_c, f.high AS limit_c, (c - 32) / 1.8 AS meant_c,
    m.low AS melts_c, m.high AS melts_most_c, round(c * 1.8 + 32)::INTEGER AS fahrenheit, round(c)::INTEGER AS celsius,
    -- under 50 °C no wax is molten, whatever the thermometer is off by: a judgement, eleven degrees below the lowest melting point
    -- only a book kept in °C can have taken a Fahrenheit figure for one that is too hot
    c < 50 AS is_cold,
    CASE WHEN is_cold THEN 'cold' WHEN s.show_temperature = 'F' OR meant_c > f.high THEN 'fire' END AS variant
FROM heats AS h, cautions AS f, purity AS m, settings AS s
WHERE f.caution = 'fire limit' AND m.wax = 'white' AND m.property = 'melting_point' AND (c > f.high OR is_cold)
