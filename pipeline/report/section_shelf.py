"""What is on the shelf: wax block by block and over time, what waits, candles."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from pipeline.answers.block_quality import of_measured
from pipeline.answers.trace import latest_journey
from pipeline.database.connection import Warehouse
from pipeline.flow import Loaded
from pipeline.report.charts_stock import blocks as blocks_chart
from pipeline.report.charts_stock import on_hand
from pipeline.report.page_dataclasses import Panel, Picture, Section, Table, TableColumn
from pipeline.report.page_queries import Row, ask, shown
from pipeline.report.section_trace import journey_panel, quality_panel
from pipeline.wording import stock_sentences
from pipeline.wording.amounts import Units, count, plural
from pipeline.wording.visible_text import DASH, visible

LISTED = 12


def section(loaded: Loaded, units: Units) -> Section:
    """The section on stock, and on where the latest candles came from."""
    warehouse = loaded.warehouse
    panels = [
        _blocks_panel(warehouse, units),
        _time_panel(warehouse, units),
        _store_panel(warehouse, units),
        _candles_panel(warehouse, units),
        journey_panel(latest_journey(loaded), units),
        quality_panel(of_measured(loaded), units),
    ]
    return Section("stock", "What is on the shelf?", tuple(p for p in panels if p))


def waiting_g(warehouse: Warehouse, state: str) -> float:
    """Comb that waits (``waiting``) or is held (``on hold``), g."""
    return sum(r["mass_g"] or 0 for r in ask(warehouse, "comb_in_store") if r["state"] == state)


def _blocks_panel(warehouse: Warehouse, units: Units) -> Panel:
    total = ask(warehouse, "stock")[0]
    rows = [r | {"name": _block(r)} for r in ask(warehouse, "stock_blocks")]
    pending, hold = waiting_g(warehouse, "waiting"), waiting_g(warehouse, "on hold")
    blocks, unplaced = sum(r["blocks"] for r in rows), total["unplaced_g"] or 0
    sentence = stock_sentences.stock(
        stock_sentences.Shelf(total["total_g"] or 0, blocks, unplaced), pending, hold, units
    )
    if not rows:
        return Panel("blocks", sentence)
    drawn = [(r["name"], r["mass_g"]) for r in rows if r["block"] is not None]
    says = "Bars: " + "; ".join(f"{n} {units.mass(m)}" for n, m in drawn) + "."
    picture = Picture(
        "blocks",
        f"Wax on hand{', the heaviest blocks' if len(drawn) < len(rows) else ' block by block'}, {units.mass_unit}",
        says,
        partial(blocks_chart, drawn, units),
    )
    method = (
        "Blocks cast, bought or recovered from a pour, less what was drawn or melted again, corrected by stocktakes up to this "
        "day. A count of the whole shelf, and a pour for which no block was drawn, change the total but no block: that "
        "difference stands in a row of its own. Wax taken without a word in the logs cannot be seen."
    )
    return Panel("blocks", sentence, picture, _blocks_table(rows, total, units), method=method,
                 queries=shown("stock", "stock_blocks"), about="wax on hand")  # fmt: skip


def _block(row: Row) -> str:
    return plural(row["blocks"], "other block") if row["block"] is None else visible(row["block"])


def _blocks_table(rows: Sequence[Row], total: Row, units: Units) -> Table:
    heads = (
        TableColumn("block", figures=False),
        TableColumn("cast", figures=False),
        TableColumn(units.spelled("colour"), figures=False),
        TableColumn("place", figures=False),
        TableColumn(units.head("wax")),
    )
    cells = [(r["name"], *_kept(r, units), units.mass_cell(r["mass_g"])) for r in rows]
    if total["unplaced_g"]:
        cells.append((stock_sentences.unplaced(total["unplaced_g"]), "", "", "", units.mass_cell(total["unplaced_g"])))
    return Table("Blocks", heads, tuple(cells), total=("wax on hand", "", "", "", units.mass_cell(total["total_g"])))


def _kept(row: Row, units: Units) -> tuple[str, str, str]:
    """When a block was cast, its colour and where it lies; of several together, nothing."""
    if row["block"] is None:
        return "", "", ""
    return units.day(row["date"]), _text(row["colour"]), _text(row["place"])


def _time_panel(warehouse: Warehouse, units: Units) -> Panel | None:
    days = [(r["date"], r["total_g"]) for r in ask(warehouse, "stock_days")]
    if len(days) < 3:
        return None
    most, least = max(days, key=lambda d: d[1]), min(days, key=lambda d: d[1])
    sentence = stock_sentences.shelf(
        (units.day(most[0]), units.mass(most[1])), (units.day(least[0]), units.mass(least[1]))
    )
    picture = Picture("shelf", f"Wax on hand over time, {units.mass_unit}", sentence, partial(on_hand, days, units))
    heads = (TableColumn("end of", figures=False), TableColumn(units.head("wax on hand")))
    years = {d.year: (d, m) for d, m in days}
    cells = tuple((units.day(d), units.mass_cell(m)) for d, m in list(years.values())[-10:])
    return Panel("shelf", sentence, picture, Table("The shelf at the last movement of each year", heads, cells),
                 queries=shown("stock_days"), about="wax on hand over time")  # fmt: skip


def _store_panel(warehouse: Warehouse, units: Units) -> Panel | None:
    rows = ask(warehouse, "comb_in_store")
    if not rows:
        return None
    heads = (TableColumn("what", figures=False), TableColumn("state", figures=False), TableColumn("lots"),
             TableColumn(units.head("mass")))  # fmt: skip
    cells = tuple(
        (visible(r["what"]), r["state"] + (", partly estimated by frames" if r["estimated"] else ""),
         count(r["lots"]), units.mass_cell(r["mass_g"]))
        for r in rows
    )  # fmt: skip
    lots = sum(r["lots"] for r in rows if r["state"] == "waiting")
    lost_g = sum(r["mass_g"] for r in rows if r["state"] == "lost in store")
    table = Table("Comb and crude wax in store", heads, cells)
    return Panel(
        "store",
        stock_sentences.store(lots, lost_g, units),
        None,
        table,
        queries=shown("comb_in_store"),
        about="comb in store",
    )


def _candles_panel(warehouse: Warehouse, units: Units) -> Panel | None:
    rows = ask(warehouse, "candles")
    if not rows:
        return None
    heads = (
        TableColumn("candle", figures=False),
        TableColumn("on the shelf"),
        TableColumn("sold, latest season"),
        TableColumn(f"brought, {visible(units.currency)}"),
    )
    cells = tuple(
        (visible(r["candle"]), count(r["on_shelf"]), count(r["sold"]), units.money(r["income"])) for r in rows[:LISTED]
    )
    shelf, income = sum(r["on_shelf"] or 0 for r in rows), sum(r["income"] or 0 for r in rows)
    sentence = stock_sentences.candles(int(shelf), income, units)
    more = f"and {plural(len(rows) - LISTED, 'kind')} more: combtally stock" if len(rows) > LISTED else ""
    return Panel(
        "candles", sentence, None, Table("Candles", heads, cells, more), queries=shown("candles"), about="candles"
    )


def _text(value: Any) -> str:
    return DASH if value is None else visible(value)
