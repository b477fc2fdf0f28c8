-- one row per stocktake of a store looked at, or of the whole shelf, which says nothing about a part of the sessions
SELECT row, date, item_kind, item, mass_g::DOUBLE AS mass_g FROM stocktake_items
WHERE (item_kind, item) IN (FROM stores_to_balance)
    OR (item_kind = 'shelf' AND (SELECT count(*) FROM sessions_to_balance) = (SELECT count(*) FROM sessions))
ORDER BY row
