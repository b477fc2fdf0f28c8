"""Figures by group: a row for each season, method, comb … or one for the whole book."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from pipeline.answers.questions_to_several_books import Question
from pipeline.database.connection import Warehouse
from pipeline.flow import Loaded

Row = Mapping[str, Any]

WHOLE_BOOK = "book"


@dataclass(frozen=True, slots=True)
class Groups:
    """One kind of figure by ``group``; each row has the columns that name its group, then the figures (g, shares)."""

    group: str
    rows: tuple[Row, ...]
    several_books: bool = False

    @property
    def named_by(self) -> tuple[str, ...]:
        """The columns that name a group; of several books the book comes first."""
        return (("book",) if self.several_books else ()) + keys(self.group)

    def in_json(self) -> tuple[Row, ...]:
        """For other programs: the rows."""
        return self.rows


Figure = Callable[..., Groups]
"""What gives the figures of a loaded book by a ``group``."""


def question(figure: Figure, reads: tuple[str, str], group: str) -> Question:
    """The rows of a figure by group, asked of several books; ``reads``: the models that it asks for groups and sessions."""
    for_groups, for_sessions = reads
    asked = for_sessions if group == "session" else for_groups
    return Question((figure.__name__, group), frozenset({asked}), partial(_rows_of, figure, group))


def _rows_of(figure: Figure, group: str, loaded: Loaded) -> list[Row]:
    return [dict(row) for row in figure(loaded, group=group).rows]


def side_by_side(found: Mapping[str, Groups]) -> Groups:
    """The same figure of several books, by their names, in one table; nothing is added up."""
    group = next(iter(found.values())).group
    return Groups(group, tuple({"book": book} | dict(row) for book, mine in found.items() for row in mine.rows), True)


def keys(group: str) -> tuple[str, ...]:
    """The columns that name a group: a hive is an apiary's, the book needs none."""
    return {WHOLE_BOOK: (), "hive": ("apiary", "hive")}.get(group, (group,))


def rows(
    warehouse: Warehouse, table: str, columns: tuple[str, ...], order: tuple[str, ...], where: str = ""
) -> tuple[Row, ...]:
    """Columns of a model in an order, unknown names last; only the rows ``where`` that holds."""
    listed = ", ".join(f'"{c}"' for c in columns)
    chosen = f" WHERE {where}" if where else ""
    by = ", ".join(f'"{c}" NULLS LAST' for c in order)
    return tuple(warehouse.rows(f"SELECT {listed} FROM {table}{chosen}" + (f" ORDER BY {by}" if by else "")))


def in_group(group: str) -> str:
    """Which rows of a model of several groupings are those of one."""
    return f"grouping = '{group}'"
