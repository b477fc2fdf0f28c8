"""The sheet of one batch for people: on the terminal, and as one page to print."""

from __future__ import annotations

import textwrap
from html import escape
from typing import Any

from pipeline.analyses.pour_sheet import Drawn, PourSheet
from pipeline.answers.as_json import as_json
from pipeline.book.book_folder import Book
from pipeline.contract.quantities import FINE_DECIMALS, in_unit


def unknown(near: list[str], batch: str) -> str:
    """What to say where no batch has that name."""
    return f"no batch is named {batch}" + (f"; did you mean {', '.join(near)}?" if near else "; batches.csv has none")


def data(sheet: PourSheet) -> dict[str, Any]:
    """The sheet for other programs; steps and cautions are sentences."""
    plain: dict[str, Any] = as_json(sheet)
    return plain | {"steps": [s.sentence() for s in sheet.steps]}


def _mass(grams: float, book: Book) -> str:
    """To the scale's step: whole grams need three decimals of a kg."""
    decimals = FINE_DECIMALS[book.show.mass] + (1 if book.scale("draws").step_g < 1 else 0)
    return f"{in_unit(grams, book.show.mass):,.{decimals}f} {book.show.mass}"


def _parts(sheet: PourSheet, book: Book) -> list[tuple[str, list[str]]]:
    weigh = [f"{i.name}: {_mass(i.weigh_g, book)}" for i in sheet.ingredients]
    if sheet.keep_back_g:
        weigh.append(f"of it kept back to top up: {_mass(sheet.keep_back_g, book)}")
    draw = [_drawn(b, book) for b in sheet.blocks]
    if sheet.short_g:
        draw.append(f"{_mass(sheet.short_g, book)} of wax are lacking on the shelf")
    order = [" then ".join(sheet.order)] if len(sheet.order) > 1 else []
    return [
        ("Weigh", weigh), ("Blocks", draw), ("Order of the day", order), ("Steps", [s.sentence() for s in sheet.steps]),
        ("Cautions", list(sheet.cautions)), ("Notes", list(sheet.notes)),
    ]  # fmt: skip


def _drawn(b: Drawn, book: Book) -> str:
    name = f"{b.block} ({b.colour})" if b.colour else b.block
    if b.left_g > 0:
        return f"{name}: cut {_mass(b.mass_g, book)}, {_mass(b.left_g, book)} stays"
    return f"{name}: all, {_mass(b.mass_g, book)}"


def _title(sheet: PourSheet) -> str:
    return f"{sheet.batch}: {sheet.count} x {sheet.candle}, {sheet.date.isoformat()}"


def told(sheet: PourSheet, book: Book) -> str:
    """The sheet in 80 columns, a box before each line to tick."""
    lines = [_title(sheet)]
    for title, entries in _parts(sheet, book):
        if entries:
            lines += ["", title]
        for entry in entries:
            mark = "  ! " if title == "Cautions" else "  - "
            lines += textwrap.wrap(entry, 80, initial_indent=mark, subsequent_indent="    ")
    return "\n".join(lines)


def page(sheet: PourSheet, book: Book) -> str:
    """The same as one HTML page for A4 or letter paper."""
    lists = "".join(
        f"<h2>{title}</h2><ul class='{title.split()[0].lower()}'>{''.join(f'<li>{escape(e)}</li>' for e in entries)}</ul>"
        for title, entries in _parts(sheet, book)
        if entries
    )
    title = escape(_title(sheet))
    style = (
        "@page{margin:14mm}body{font:10.5pt/1.3 sans-serif;max-width:46em;margin:auto;color:#111;background:#fff}"
        "h1{font-size:15pt;margin:0}h2{font-size:11pt;margin:.7em 0 .2em}ul{margin:0;padding-left:1.4em}"
        "li::marker{content:'☐  '}.cautions li::marker{content:'!  '}"
    )
    return (
        f"<!doctype html><html lang='en'><meta charset='utf-8'><meta name='viewport' content='width=device-width'>"
        f"<title>{title}</title><style>{style}</style><main><h1>{title}</h1>{lists}</main></html>\n"
    )
