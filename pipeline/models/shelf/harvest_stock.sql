-- one row per harvest up to the date shown that was emptied, or not used up by its loads to the gram: how far it is rendered
-- kept: for answers
-- with: harvest, estimated
-- harvested_g: its mass, g; missing where it was counted in frames that nothing is known of
-- loaded_g: loaded into passes, g
-- left_g: what is left by the loads and stocktakes, g
-- counted: whether a stocktake has weighed it since
-- closed: whether it was emptied, or last counted as nothing
-- with: comb, apiary, hive, wax_expected, hold
WITH taken AS (
    SELECT t.source AS harvest, sum(coalesce(t.mass_g, t.estimate_g)) AS loaded_g, bool_or(t.emptied) AS emptied,
        bool_or(NOT t.weighed) AS taken_whole, bool_or(t.mass_g IS NULL) AS guessed
    FROM loads_taking_the_rest AS t JOIN settings AS s ON t.date <= s.on_date
    WHERE t.source_kind = 'harvest'
    GROUP BY t.source
),
counts AS (
    SELECT t.item AS harvest, arg_max(t.mass_g, (t.date, t.row)) AS counted_g
    FROM stocktake_items AS t JOIN settings AS s ON t.date <= s.on_date
    WHERE t.item_kind = 'harvest' AND t.mass_g IS NOT NULL
    GROUP BY t.item
),
ledger AS (
    SELECT w.source AS harvest, arg_max(w.left_g, (w.date, w.turn, w.rank, w.row)) AS left_g
    FROM source_ledger AS w JOIN settings AS s ON w.date <= s.on_date
    WHERE w.source_kind = 'harvest'
    GROUP BY w.source
),
stock AS (
    SELECT m.harvest, m.estimated, m.upto_g AS harvested_g,
        if(coalesce(l.guessed, false), m.upto_g, coalesce(l.loaded_g, 0))::DECIMAL(18, 6) AS loaded_g,
        CASE
            WHEN NOT m.estimated OR c.counted_g IS NOT NULL THEN coalesce(g.left_g, m.mass_g - coalesce(l.loaded_g, 0))
            WHEN NOT coalesce(l.taken_whole OR l.emptied, false) THEN m.upto_g - coalesce(l.loaded_g, 0)
            ELSE 0
        END::DECIMAL(18, 6) AS left_g,
        c.counted_g IS NOT NULL AS counted,
        coalesce(l.emptied, false) OR coalesce(c.counted_g = 0, false) AS closed
    FROM harvest_masses AS m JOIN settings AS s ON m.date <= s.on_date
    LEFT JOIN taken AS l USING (harvest) LEFT JOIN counts AS c USING (harvest) LEFT JOIN ledger AS g USING (harvest)
)
SELECT t.*, h.comb, h.apiary, h.hive, h.wax_expected, h.hold
FROM stock AS t JOIN harvests AS h USING (harvest)
WHERE t.closed OR t.left_g IS DISTINCT FROM 0
