"""A blank log sheet for the clipboard: two pages, the book's units, its methods and comb kinds to tick."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import jinja2

from pipeline.book.book_settings import Book
from pipeline.book.book_toml import read_book
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.recording.log_layout import words
from pipeline.recording.workbook_instructions import DATE_EXAMPLES
from pipeline.wording.amounts import Units
from pipeline.wording.cautions import BURNING, MELTING, cautions

_TICKS = {
    "methods": ("passes", "method"), "kinds": ("harvests", "comb"), "colours": ("blocks", "colour"),
    "uses": ("draws", "use"), "soot": ("burns", "soot"), "signs": ("burns", "signs"),
}  # fmt: skip
"""What is ticked on the sheet instead of written, and the column whose words it has."""
PAPERS = {"a4": "A4", "letter": "Letter"}


def make(folder: Path, out: Path) -> list[Path]:
    """Write the sheet for both paper sizes; the files. Raises MachineFault."""
    book = read_book(folder)[0]
    name = folder.resolve().name
    return [write(out / f"{name}-sheet-{key}.html", page(book, paper).encode()) for key, paper in PAPERS.items()]


def page(book: Book, paper: str) -> str:
    """The sheet as one HTML page that prints on two sides of ``paper``: rendering, and pours with test burns."""
    env = jinja2.Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined)
    template = env.from_string(files("pipeline.recording").joinpath("sheet.html").read_text("utf-8"))
    ticks = {name: words(book, LOGS[log].column(column)) for name, (log, column) in _TICKS.items()}
    units = Units.of(book)
    return template.render(
        book=book, paper=paper, dates=DATE_EXAMPLES[book.dates], pots=_pots(book), **ticks,
        melting=cautions(MELTING, units), burning=cautions((*MELTING, *BURNING), units), spelled=units.spelled,
    )  # fmt: skip


def _pots(book: Book) -> str:
    """The vessels that are weighed with and what each weighs empty."""
    units = Units.of(book)
    return ", ".join(f"{name} {units.reading(empty_g)}" for name, empty_g in book.vessels.items())


def write(path: Path, data: bytes) -> Path:
    """Write a file beside the reports; the path. Raises MachineFault."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as fault:
        raise MachineFault(f"{path} could not be written: {fault.strerror}") from fault
    return path
