"""Commands that take several books: each is opened by itself, and its figures bear its name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli import running
from pipeline.wording.amounts import Units

if TYPE_CHECKING:
    from pipeline.answers.groups import Groups
    from pipeline.flow import Loaded

Books = Annotated[
    list[Path],
    typer.Argument(
        metavar="BOOK …", is_eager=True, help="The folder with the book's logs; several stay books of their own."
    ),
]


def names(books: Sequence[Path]) -> list[str]:
    """What each book is called: its folder's name, or its whole path where two are called alike."""
    short = [book.resolve().name for book in books]
    alike = Counter(short)
    return [name if alike[name] == 1 else str(book) for name, book in zip(short, books, strict=True)]


def each(books: Sequence[Path], today: date | None, leave_out: bool) -> Iterator[tuple[str, Loaded]]:
    """Every book with its name, one after another; each is let go of when the next is opened."""
    for name, book in zip(names(books), books, strict=True):
        loaded = running.opened(book, today, leave_out)
        yield name, loaded
        loaded.warehouse.close()


def grouped(
    books: Sequence[Path], today: date | None, leave_out: bool, figure: Callable[[Loaded], Groups]
) -> tuple[Groups, Units]:
    """One figure by group, of one book or of several side by side, and how the first book shows its figures."""
    from pipeline.answers.groups import side_by_side

    found: dict[str, Groups] = {}
    units = []
    for name, loaded in each(books, today, leave_out):
        found[name] = figure(loaded)
        units.append(Units.of(loaded.book))
    return (next(iter(found.values())) if len(found) == 1 else side_by_side(found)), units[0]
