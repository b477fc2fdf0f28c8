"""Commands that take several books: each is opened by itself, and its figures bear its name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import exit_codes, running
from pipeline.wording.amounts import Units

if TYPE_CHECKING:
    from pipeline.answers.groups import Figure, Groups
    from pipeline.answers.questions_to_several_books import Question
    from pipeline.flow import Loaded

Books = Annotated[
    list[Path],
    typer.Argument(
        metavar="BOOK …", is_eager=True, help="The folder with the book's logs; several stay books of their own."
    ),
]


def names(books: Sequence[Path]) -> list[str]:
    """What each book is called: its folder's name, or its whole path where two are called alike.

    Ends with wrong use where a folder is named twice: its rows could not be told apart.
    """
    twice = [book for book, times in Counter(book.resolve() for book in books).items() if times > 1]
    if twice:
        running.stop(f"{twice[0].name} is named twice; name each book once", exit_codes.WRONG_USE)
    short = [book.resolve().name for book in books]
    alike = Counter(short)
    return [name if alike[name] == 1 else str(book) for name, book in zip(short, books, strict=True)]


def each(books: Sequence[Path], today: date | None, leave_out: bool) -> Iterator[tuple[str, Loaded]]:
    """Every book with its name, one after another; each is let go of when the next is opened."""
    for name, book in zip(names(books), books, strict=True):
        loaded = running.opened(book, today, leave_out)
        yield name, loaded
        loaded.warehouse.close()


def asked(question: Question, books: Sequence[Path], today: date | None, leave_out: bool) -> Iterator[tuple[str, Any]]:
    """Every book with its name and its answer; a book that has errors is opened as one is, which tells them."""
    from pipeline.answers.questions_to_several_books import answers

    with running.progress(f"reading {len(books)} books"):
        found = answers([running.folder(book) for book in books], today or date.today(), question)
    for name, book, value in zip(names(books), books, found, strict=True):
        yield name, _told(question, book, today, leave_out) if value is None else value


def _told(question: Question, book: Path, today: date | None, leave_out: bool) -> Any:
    loaded = running.opened(book, today, leave_out)
    value = question.answer(loaded)
    loaded.warehouse.close()
    return value


def by_group(
    figure: Figure, reads: tuple[str, str], group: str, books: Sequence[Path], today: date | None, leave_out: bool
) -> tuple[Groups, Units]:
    """One figure by group, of one book or of several side by side, and how the first book shows its figures."""
    if len(books) == 1:
        return grouped(books, today, leave_out, partial(figure, group=group))
    from pipeline.answers.groups import Groups, question, side_by_side
    from pipeline.book.book_toml import read_book

    rows = asked(question(figure, reads, group), books, today, leave_out)
    found = {name: Groups(group, tuple(mine)) for name, mine in rows}
    return side_by_side(found), Units.of(read_book(books[0])[0])


def grouped(
    books: Sequence[Path], today: date | None, leave_out: bool, figure: Callable[[Loaded], Groups]
) -> tuple[Groups, Units]:
    """The same of books that are opened whole, one after another."""
    from pipeline.answers.groups import side_by_side

    found: dict[str, Groups] = {}
    units = []
    for name, loaded in each(books, today, leave_out):
        found[name] = figure(loaded)
        units.append(Units.of(loaded.book))
    return (next(iter(found.values())) if len(found) == 1 else side_by_side(found)), units[0]
