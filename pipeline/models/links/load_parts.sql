-- one row per load into a pass that is logged: what it is, and when it went in
-- kept: no
-- row: the load's row in loads
-- session: the session it went into
-- pass: the pass it went into
-- date: the date of that pass
-- source_kind: harvest, block or session; missing where the source cannot be told
-- source: its id
-- part: comb, wax or slumgum; missing where it cannot be told
-- mass_g: the mass as logged, g; missing: all that was left
-- emptied: whether nothing was left of the source
SELECT
    l.row, l.session, l.pass, p.date, l.source_kind, l.source,
    CASE l.source_kind WHEN 'harvest' THEN 'comb' WHEN 'block' THEN 'wax' WHEN 'session' THEN l.part END AS part,
    l.mass_g, l.emptied
FROM load_links AS l JOIN passes AS p USING (session, pass)
