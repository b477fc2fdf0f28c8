"""The options that commands share: BOOK, --json, --leave-out, --today."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer


def day(asked: typer.Context, text: str | None) -> date | None:
    """A date given on the command line: ISO, or in the order that the book has its dates in."""
    from pipeline.book.book_settings import TOML
    from pipeline.book.book_toml import read_book
    from pipeline.contract.log_columns import LOGS
    from pipeline.contract.quantities import Refusal
    from pipeline.reading.cell_reader import Conventions, read_cell

    if text is None:
        return None
    book = asked.params.get("book") or next(iter(asked.params.get("books") or ()), None)  # eager: read before options
    # typer 0.28 has the words of an argument here, later ones the path
    order = read_book(Path(book))[0].dates if book is not None and Path(book, TOML).is_file() else "iso"
    found = read_cell(text.strip(), LOGS["passes"].column("date"), None, Conventions(dates=order))
    if not isinstance(found, date):
        raise typer.BadParameter(found.sentence() if isinstance(found, Refusal) else "it is empty")
    return found


BookFolder = Annotated[Path, typer.Argument(metavar="BOOK", is_eager=True, help="The folder with the book's logs.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of tables.")]
LeaveOut = Annotated[bool, typer.Option("--leave-out", help="Go on without the rows that have errors.")]
Today = Annotated[
    date | None,
    typer.Option("--today", parser=str, callback=day, metavar="DATE", help="The day to take as today (2026-11-01)."),
]
