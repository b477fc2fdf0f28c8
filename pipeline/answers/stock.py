"""What is on the shelf, and what waits?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pipeline.answers.groups import Row
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Stock:
    """The shelf at the end of a day, masses in g; a row for each block, session, harvest and kind of candle."""

    on: date
    total_g: Decimal
    unplaced_g: Decimal
    blocks: tuple[Row, ...]
    blended: tuple[Row, ...]
    set_aside: tuple[Row, ...]
    pending: tuple[Row, ...]
    store_loss: tuple[Row, ...]
    candles: tuple[Row, ...]


def stock(loaded: Loaded) -> Stock:
    """The shelf on the date that the models were run for."""
    total = loaded.warehouse.rows("SELECT on_date, total_g, unplaced_g FROM stock_total")[0]

    def rows(columns: str, table: str) -> tuple[Row, ...]:
        return tuple(loaded.warehouse.rows(f"SELECT {columns} FROM {table} ORDER BY {columns.partition(',')[0]}"))

    return Stock(
        on=total["on_date"],
        total_g=total["total_g"],
        unplaced_g=total["unplaced_g"],
        blocks=rows("block, mass_g", "stock_blocks"),
        blended=rows("block, blend, mass_g", "stock_blended"),
        set_aside=rows("session, mass_g", "stock_set_aside"),
        pending=rows("harvest, comb, mass_g", "comb_pending"),
        store_loss=rows("harvest, mass_g", "store_losses"),
        candles=rows("candle, count", "candle_stock"),
    )
