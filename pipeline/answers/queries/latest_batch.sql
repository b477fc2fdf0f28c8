-- one row: the latest batch that was poured of wax that was drawn for it, and how much
SELECT id AS batch, candle, date, wax_g FROM wax_holders
WHERE kind = 'batch' AND wax_g > 0 ORDER BY date DESC, id DESC LIMIT 1
