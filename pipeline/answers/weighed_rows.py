"""The rows of a book that hold weighings: of all its sessions, or of the latest with all that touches them."""

from __future__ import annotations

from typing import Any

from pipeline.analyses.balances_of_book import Records
from pipeline.database.connection import Warehouse


def look(warehouse: Warehouse, latest: int | None) -> tuple[int, int]:
    """Choose the sessions to look at, all or so many of the latest; how many that are, and of how many."""
    for name in ("looked_at", "looked_stores"):
        warehouse.set_aside(name, [latest])
    (found,) = warehouse.rows("SELECT (SELECT count(*) FROM looked_at) AS n, (SELECT count(*) FROM sessions) AS of")
    return found["n"], found["of"]


def records(warehouse: Warehouse) -> Records:
    """The rows that hold weighings of what is looked at."""
    logs = ("harvests", "loads", "passes", "steps", "blocks", "draws", "stocktakes")
    rows = {log: warehouse.ask(f"weighed_{log}") for log in logs}
    return Records(**rows, unweighed_pours=[r["date"] for r in warehouse.ask("unweighed_pours")])


def losses(warehouse: Warehouse) -> list[dict[str, Any]]:
    """What each step of the sessions looked at did not give back: place, session, in_g, lost_g, and the log of it."""
    return warehouse.ask("step_losses")
