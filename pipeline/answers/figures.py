"""The figures of the main job as rows, straight from the models: what the commands print and the report draws."""

from __future__ import annotations

from typing import Any

from pipeline.database.connection import Warehouse

Rows = list[dict[str, Any]]

_FLOW = ("loaded_g", "blocks_g", "passed_on_g", "set_aside_g", "residue_g", "unaccounted_g", "handling_g", "casting_g")
_LOSS = ("stage", "pass", "in_g", "wax_g", "residue_g", "unaccounted_g", "loss")


def keys(group: str) -> tuple[str, ...]:
    """The columns that name a group: a hive is an apiary's, the book needs none."""
    return {"book": (), "hive": ("apiary", "hive")}.get(group, (group,))


def _select(table: str, columns: tuple[str, ...], order: tuple[str, ...]) -> str:
    listed = ", ".join(f'"{c}"' for c in columns)
    by = ", ".join(f'"{c}" NULLS LAST' for c in order)
    return f"SELECT {listed} FROM {table}" + (f" ORDER BY {by}" if by else "")


def yields(warehouse: Warehouse, group: str) -> Rows:
    """Comb loaded, wax won (g), yield and its standard uncertainty (shares), flags, by group."""
    columns = (*keys(group), "loaded_g", "wax_g", "yield", "u", "flags")
    if group == "session":
        return warehouse.rows(_select("session_yields", columns, ("date", "session")))
    return warehouse.rows(_select(f"yields_by_{group}", columns, keys(group)))


def losses(warehouse: Warehouse, group: str) -> Rows:
    """What went in and what was lost (g, loss as a share), by group, stage and pass number."""
    named = keys(group)
    return warehouse.rows(_select(f"losses_by_{group}", (*named, *_LOSS), (*named, "pass", "stage")))


def flow(warehouse: Warehouse, group: str) -> Rows:
    """The waterfall (g), by group; every row closes."""
    if group == "session":
        return warehouse.rows(_select("session_flow", ("session", *_FLOW), ("date", "session")))
    return warehouse.rows(_select(f"flow_by_{group}", (*keys(group), *_FLOW), keys(group)))


def stock(warehouse: Warehouse) -> dict[str, Any]:
    """The shelf on the date that the models were run for, masses in g."""
    total = warehouse.rows('SELECT on_date AS "on", total_g, unplaced_g FROM stock_total')[0]
    return total | {
        "blocks": warehouse.rows("SELECT block, mass_g FROM stock_blocks ORDER BY block"),
        "blended": warehouse.rows("SELECT block, blend, mass_g FROM stock_blended ORDER BY block"),
        "set_aside": warehouse.rows("SELECT session, mass_g FROM stock_set_aside ORDER BY session"),
        "pending": warehouse.rows("SELECT harvest, comb, mass_g FROM comb_pending ORDER BY harvest"),
        "store_loss": warehouse.rows("SELECT harvest, mass_g FROM store_losses ORDER BY harvest"),
        "candles": warehouse.rows("SELECT candle, count FROM candle_stock ORDER BY candle"),
    }
