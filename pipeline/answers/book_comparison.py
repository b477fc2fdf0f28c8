"""How do we compare? The yields of several books at the same comb and method, and what their refining loses."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.analyses.book_comparison import ComparedKind, Standing, compare
from pipeline.answers.questions_to_several_books import Question
from pipeline.database.shipped_queries import query
from pipeline.database.tables_a_query_reads import read_by
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Comparison:
    """By kind the standing of every book that has it; ``yields`` by comb and method, ``losses`` of refining by method."""

    books: tuple[str, ...]
    yields: tuple[tuple[ComparedKind, tuple[Standing, ...]], ...]
    losses: tuple[tuple[ComparedKind, tuple[Standing, ...]], ...]


Shares = dict[ComparedKind, list[float]]


def shares(loaded: Loaded) -> Shares:
    """One book's session yields and refining losses, by kind."""
    found: Shares = {}
    for row in loaded.warehouse.ask("sessions_of_books_to_compare"):
        found.setdefault(ComparedKind(row["comb"], row["method"]), []).append(row["share"])
    for row in loaded.warehouse.ask("refining_of_books_to_compare"):
        found.setdefault(ComparedKind(None, row["method"]), []).append(row["share"])
    return found


def to_compare(loaded: Loaded) -> list[tuple[str | None, str | None, list[float]]]:
    """The same as rows: comb (None: refining), method, shares."""
    return [(kind.comb, kind.method, values) for kind, values in shares(loaded).items()]


QUESTION = Question(
    ("compare",),
    frozenset(
        read_by(
            query("answers/queries", name) for name in ("sessions_of_books_to_compare", "refining_of_books_to_compare")
        )
    ),
    to_compare,
)


def of_rows(rows: Iterable[tuple[str | None, str | None, list[float]]]) -> Shares:
    """The shares of rows of :func:`to_compare`."""
    return {ComparedKind(comb, method): values for comb, method, values in rows}


def comparison(books: Iterable[tuple[str, Shares]]) -> Comparison:
    """Several books side by side; the kinds that most of their sessions are of come first."""
    by_kind: dict[ComparedKind, dict[str, list[float]]] = {}
    names = []
    for book, mine in books:
        names.append(book)
        for kind, values in mine.items():
            by_kind.setdefault(kind, {})[book] = values
    found = compare(by_kind)
    order = sorted(found, key=lambda k: (-sum(s.n for s in found[k]), k.comb or "", k.method or ""))
    listed = [(kind, tuple(found[kind])) for kind in order]
    return Comparison(tuple(names), tuple(x for x in listed if x[0].comb), tuple(x for x in listed if not x[0].comb))
