"""The rows of a book that hold weighings: of all its sessions, or of the latest with all that touches them."""

from __future__ import annotations

from typing import Any

from pipeline.analyses.steps import Records
from pipeline.warehouse import Warehouse

_SESSIONS = """
CREATE OR REPLACE TEMP TABLE looked_at AS
SELECT session, date FROM sessions ORDER BY date DESC, session DESC LIMIT coalesce($1, (SELECT count(*) FROM sessions))
"""
_STORES = """
CREATE OR REPLACE TEMP TABLE looked_stores AS
SELECT source_kind, source FROM load_parts SEMI JOIN looked_at USING (session) WHERE source_kind <> 'session'
UNION
SELECT 'block', block FROM blocks SEMI JOIN looked_at USING (session)
UNION
SELECT 'block', block FROM blocks
WHERE session IS NULL AND ($1 IS NULL OR date >= (SELECT min(date) FROM looked_at))
"""
_HARVESTS = """
SELECT row, harvest, mass_g FROM harvests
WHERE harvest IN (SELECT source FROM looked_stores WHERE source_kind = 'harvest') ORDER BY row
"""
_LOADS = """
SELECT row, session, pass, date, source_kind, source, if(source_kind = 'session', part, NULL) AS part, mass_g, emptied
FROM load_parts
WHERE session IN (SELECT session FROM looked_at)
    OR (source_kind = 'session' AND source IN (SELECT session FROM looked_at))
    OR (source_kind, source) IN (FROM looked_stores)
ORDER BY row
"""
_PASSES = """
SELECT row, session, pass, mass_in_g, wax_out_g, residue_g FROM passes SEMI JOIN looked_at USING (session) ORDER BY row
"""
_STEPS = """
SELECT s.session, s.pass, s.stage, s.method, c.comb
FROM pass_steps AS s SEMI JOIN looked_at USING (session) LEFT JOIN session_combs AS c USING (session)
"""
_BLOCKS = """
SELECT row, block, session, date, blend, mass_g FROM blocks
WHERE block IN (SELECT source FROM looked_stores WHERE source_kind = 'block') ORDER BY row
"""
_DRAWS = """
SELECT row, block, date, mass_g FROM draws
WHERE block IN (SELECT source FROM looked_stores WHERE source_kind = 'block') ORDER BY row
"""
_STOCKTAKES = """
SELECT row, date, item_kind, item, mass_g FROM stocktake_items
-- a count of the whole shelf says nothing about a part of the sessions
WHERE item_kind <> 'shelf' OR (SELECT count(*) FROM looked_at) = (SELECT count(*) FROM sessions)
ORDER BY row
"""
_LOST = """
WITH steps AS (FROM pass_steps SEMI JOIN looked_at USING (session))
SELECT 'what goes into pass ' || if(pass = 1, '1', '2 and later') AS place, session,
    before_g + loaded_g AS in_g, handling_g AS lost_g, 'passes' AS log
FROM steps WHERE in_weighed AND before_g + loaded_g > 0
UNION ALL
SELECT 'refining' || coalesce(' through ' || filter, '') || ' (' || method || ')', session, in_g,
    unaccounted_g, 'passes'
FROM steps WHERE stage = 'refining' AND residue_weighed AND in_known AND unaccounted_g IS NOT NULL
UNION ALL
SELECT 'casting', session, blocks_g + casting_g, casting_g, 'blocks'
FROM session_flow SEMI JOIN looked_at USING (session) WHERE blocks_g > 0
ORDER BY 1, 2
"""


def look(warehouse: Warehouse, latest: int | None) -> tuple[int, int]:
    """Choose the sessions to look at, all or so many of the latest; how many that are, and of how many."""
    for choice in (_SESSIONS, _STORES):
        warehouse.execute(choice, [latest])
    (found,) = warehouse.rows("SELECT (SELECT count(*) FROM looked_at) AS n, (SELECT count(*) FROM sessions) AS of")
    return found["n"], found["of"]


def records(warehouse: Warehouse) -> Records:
    """The rows that hold weighings of what is looked at."""
    ask = warehouse.rows
    return Records(
        harvests=ask(_HARVESTS),
        loads=ask(_LOADS),
        passes=ask(_PASSES),
        steps=ask(_STEPS),
        blocks=ask(_BLOCKS),
        draws=ask(_DRAWS),
        stocktakes=ask(_STOCKTAKES),
        unweighed_pours=[r["date"] for r in ask("SELECT date FROM assumed_draws ORDER BY date")],
    )


def losses(warehouse: Warehouse) -> list[dict[str, Any]]:
    """What each step of the sessions looked at did not give back: place, session, in_g, lost_g, and the log of it."""
    return warehouse.rows(_LOST)
