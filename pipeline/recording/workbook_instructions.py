"""The first sheet of a workbook to fill in: how to, in a few sentences, and a greyed example of each log's rows."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.book.book_settings import Book
from pipeline.contract.columns import CellKind, Column, Log
from pipeline.contract.log_columns import LOGS
from pipeline.recording.log_layout import header_name, words
from pipeline.wording.amounts import Units
from pipeline.wording.command_lines import command_line
from pipeline.wording.visible_text import visible

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

NAME = "instructions"
DATE_FORMATS = {"iso": "yyyy-mm-dd", "day-first": "dd/mm/yyyy", "month-first": "mm/dd/yyyy"}
"""How spreadsheets show a date in the order of the book's dates."""
_GREY = "757575"  # on white 4.6:1, which WCAG 2.2 asks of small text (1.4.3)
_WIDTH = 18
_POUNDS = ("lb", "oz")
_SHOWN_TOO = {
    "loads": ("mass",),
    "draws": ("mass",),
    "stocktakes": ("item",),
    "sales": ("batch",),
    "passes": ("mass_in", "wax_out", "residue"),
}
_NAMED = {
    "session": "S1", "source": "H1", "block": "B1", "test": "T1", "candle": "taper", "batch": "P1", "blend": "pure",
    "wick": "no. 2", "harvest": "H1", "item": "B1", "pass": "1", "burn": "1", "rank": "3", "count": "12", "wax_pct": "100",
    "from_diameter": "50 mm", "to_diameter": "65 mm", "time": "150",
}  # fmt: skip
_WEIGHED = {"wax_out": ("2 lb 10 oz", "0.65 kg"), "residue": ("2 lb 1 oz", "0.5 kg"), "fill_mass": ("3 oz", "85 g")}
_LOADED = ("5 lb 4 oz", "1.35 kg")
"""Weights in pounds and in kilograms; a pass gives less than went in."""
DATE_EXAMPLES = {order: Units(dates=order).typed_day(date(2025, 8, 14)) for order in DATE_FORMATS}
"""The fourteenth of August in each order, so that nobody takes the day for the month."""


def fill(sheet: Worksheet, book: Book) -> None:
    """Write the instructions; the sheet is never read, so its examples are no rows."""
    from openpyxl.styles import Alignment, Font

    sheet.append([visible(f"How to fill in this workbook: {book.name}")])
    sheet["A1"].font = Font(bold=True, size=14)
    for n, sentence in enumerate(_sentences(book), 2):
        sheet.cell(n, 1, visible(sentence)).alignment = Alignment(wrap_text=True, vertical="top")
        sheet.merge_cells(start_row=n, start_column=1, end_row=n, end_column=6)
        sheet.row_dimensions[n].height = 32
    for log in LOGS.values():
        _example(sheet, log, book)
    for letter in "ABCDEFGHIJKLMNOP":
        sheet.column_dimensions[letter].width = _WIDTH
    sheet.protection.sheet = True


def _sentences(book: Book) -> list[str]:
    pot = next(iter(book.vessels), "")
    weights = _LOADED[book.show.mass_unit not in _POUNDS]
    tare = f" A pot that was on the scale is taken off by its name: {weights} - {pot}." if pot else ""
    taken_in = command_line(Path(visible(book.folder.name)), "record", "--from")
    return [
        "Each sheet behind this one is a log: one line is one weighing, pour, burn or sale. "
        "Bold columns must be filled; leave empty what you did not weigh.",
        f"A bare number is in the unit of the column's head; another unit is written behind the number: {weights}.{tare}",
        f"Dates are {DATE_EXAMPLES[book.dates]} for 14 August 2025. Names (2026-1) stay as typed: their columns are text.",
        "Choose a word from the list of a cell, or type it. The grey lines below are examples and are never taken in.",
        f"When it is filled in: {taken_in} this file. Take it in as often as you like: each line counts once.",
    ]


def _example(sheet: Worksheet, log: Log, book: Book) -> None:
    from openpyxl.styles import Font

    sheet.append([])
    groups = (*log.one_of, *log.any_of)
    shown = (*(group[0] for group in groups), *_SHOWN_TOO.get(log.name, ()))
    columns = [c for c in log.columns if c.required or c.name in shown]
    sheet.append([log.name])
    sheet.cell(sheet.max_row, 1).font = Font(bold=True)
    for row in ([header_name(book, c) for c in columns], [_cell(c, book) for c in columns]):
        sheet.append(row)
        for n in range(1, len(row) + 1):
            cell = sheet.cell(sheet.max_row, n)
            cell.font, cell.number_format = Font(italic=True, color=_GREY), "@"


def _cell(column: Column, book: Book) -> str:
    if choices := words(book, column):
        return choices[0]
    if column.kind is CellKind.DATE:
        return DATE_EXAMPLES[book.dates]
    if column.kind is CellKind.MASS:
        return _WEIGHED.get(column.name, _LOADED)[book.show.mass_unit not in _POUNDS]
    return _NAMED.get(column.name, "")
