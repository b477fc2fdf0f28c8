"""The command that lays several books side by side: compare."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from pipeline import __version__
from pipeline.book.book_settings import REPORTS
from pipeline.cli import exit_codes, running
from pipeline.cli.options import Json, LeaveOut, Today
from pipeline.cli.several_books import Books, asked

Out = Annotated[Path | None, typer.Option("--out", help="Where the page goes (default: reports in the first BOOK).")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    app.command()(compare)


def compare(
    books: Books, out: Out = None, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None
) -> None:
    """Lay several books side by side on one page. Same comb, same method; chance differences are no differences."""
    if len(books) < 2:
        running.stop("name two books or more to compare", exit_codes.WRONG_USE)
    from pipeline.answers.book_comparison import QUESTION, comparison, of_rows
    from pipeline.report import book_comparison_page
    from pipeline.wording.amounts import Units

    found = comparison((name, of_rows(rows)) for name, rows in asked(QUESTION, books, today, leave_out))
    page = book_comparison_page.write(found, out or books[0] / REPORTS, today or date.today(), __version__, Units())
    document = {"page": page, "books": found.books, "yields": found.yields, "losses": found.losses}
    running.emit(document, as_json, lambda: f"{book_comparison_page.answer(found)}\npage: {page}")
