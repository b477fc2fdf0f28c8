-- one row per load into a pass that is logged: what it is, and when it went in
-- kept: no
-- with: row, session, pass, date, source_kind, source, part
-- mass_g: the mass as weighed, g; missing: all that was left
-- with: emptied
SELECT
    l.row, l.session, l.pass, p.date, l.source_kind, l.source,
    CASE l.source_kind WHEN 'harvest' THEN 'comb' WHEN 'block' THEN 'wax' WHEN 'session' THEN l.part END AS part,
    l.mass_g, l.emptied
FROM load_source_kinds AS l JOIN passes AS p USING (session, pass)
