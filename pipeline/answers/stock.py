"""What is on the shelf, and what waits?"""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal

from pipeline.answers.groups import Row
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Stock:
    """The shelf at the end of a day, masses in g; a row for each block, session, harvest and kind of candle.

    A harvest is ``estimated`` where its frames were counted and it was never weighed, not at a stocktake either.

    ``unplaced_g``: what the shelf holds beyond its blocks. ``counted_on``: when all of it was last counted.
    """

    on: date
    total_g: Decimal
    unplaced_g: Decimal
    blocks: tuple[Row, ...]
    blended: tuple[Row, ...]
    set_aside: tuple[Row, ...]
    pending: tuple[Row, ...]
    store_loss: tuple[Row, ...]
    candles: tuple[Row, ...]
    counted_on: date | None

    def in_json(self) -> dict[str, object]:
        """For other programs."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name != "counted_on"}


_COUNTED = "SELECT max(date) AS date FROM stocktakes WHERE item IS NULL AND date <= ?"


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
        pending=rows("harvest, comb, mass_g, estimated", "comb_pending"),
        store_loss=rows("harvest, mass_g", "store_losses"),
        candles=rows("candle, count", "candle_stock"),
        counted_on=loaded.warehouse.rows(_COUNTED, [total["on_date"]])[0]["date"],
    )
