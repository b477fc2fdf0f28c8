-- one row per stocktake; a count of the whole shelf says nothing about a part of the sessions
SELECT row, date, item_kind, item, mass_g FROM stocktake_items
WHERE item_kind <> 'shelf' OR (SELECT count(*) FROM looked_at) = (SELECT count(*) FROM sessions)
ORDER BY row
