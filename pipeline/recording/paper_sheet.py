"""A blank log sheet for the clipboard: one page, the book's units, its methods and comb kinds to tick."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import jinja2

from pipeline.book.book_settings import Book, read_book
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.recording.log_layout import words
from pipeline.wording.cautions import MELTING, cautions

PAPERS = {"a4": "A4", "letter": "Letter"}


def make(folder: Path, out: Path) -> list[Path]:
    """Write the sheet for both paper sizes; the files. Raises MachineFault."""
    book = read_book(folder)[0]
    name = folder.resolve().name
    return [write(out / f"{name}-sheet-{key}.html", page(book, paper).encode()) for key, paper in PAPERS.items()]


def page(book: Book, paper: str) -> str:
    """The sheet as one HTML page that prints on one side of ``paper``."""
    env = jinja2.Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined)
    template = env.from_string(files("pipeline.recording").joinpath("sheet.html").read_text("utf-8"))
    methods, kinds = (words(book, LOGS[log].column(name)) for log, name in (("passes", "method"), ("harvests", "comb")))
    return template.render(
        book=book, paper=paper, methods=methods, kinds=kinds, cautions=cautions(MELTING), colours=_colours(book)
    )


def _colours(book: Book) -> tuple[str, ...]:
    return words(book, LOGS["blocks"].column("colour"))


def write(path: Path, data: bytes) -> Path:
    """Write a file beside the reports; the path. Raises MachineFault."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as fault:
        raise MachineFault(f"{path} could not be written: {fault.strerror}") from fault
    return path
