"""What a column of a log is: its kind, the units it may come in, and the limits of its values."""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final


class CellKind(StrEnum):
    """What a cell holds; decides how it is read, stored and shown."""

    ID = "id"
    TEXT = "text"
    CHOICE = "choice"
    WORDS = "words"
    DATE = "date"
    MASS = "mass"
    LENGTH = "length"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    TIME = "time"
    COUNT = "count"
    NUMBER = "number"
    MONEY = "money"
    PERCENT = "percent"
    YES_NO = "yes/no"


KEPT_UNITS: dict[CellKind, str] = {
    CellKind.MASS: "g",
    CellKind.LENGTH: "mm",
    CellKind.VOLUME: "ml",
    CellKind.TEMPERATURE: "c",
    CellKind.TIME: "min",
}
"""The one unit in which each measured kind is kept inside the program."""

SUFFIXES: dict[CellKind, tuple[str, ...]] = {
    CellKind.MASS: ("g", "kg", "oz", "lb"),
    CellKind.LENGTH: ("mm", "cm", "in"),
    CellKind.VOLUME: ("ml", "l", "floz"),
    CellKind.TEMPERATURE: ("c", "f"),
    CellKind.TIME: ("min", "h"),
}
"""The unit suffixes that a header may carry."""

STORED: dict[CellKind, str] = {
    CellKind.DATE: "DATE",
    CellKind.MASS: "DECIMAL(18,6)",
    CellKind.MONEY: "DECIMAL(18,6)",
    CellKind.COUNT: "INTEGER",
    CellKind.YES_NO: "BOOLEAN",
    CellKind.ID: "VARCHAR",
    CellKind.TEXT: "VARCHAR",
    CellKind.CHOICE: "VARCHAR",
    CellKind.WORDS: "VARCHAR",
}
"""The database type of each kind; what is not listed is a DOUBLE. Masses and money are exact, so sums repeat."""

ODD = '" odd"'
"""A column that a log's table has while the book is read: the texts of a row in which a cell needs a second look, else NULL.

Its name begins with a space, as no heading does. Beside it stands ``bad``: whether the row is left out.
"""

MASS_LIMIT_G = 1e9
"""A thousand tonnes: more than a cell can mean, and well inside what the store can hold."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a log.

    ``low``/``high`` bound the value in the kept unit, ``above`` bounds it strictly. ``choices`` are the words
    allowed (read without regard to case; of a column of words several may stand in a cell); ``more`` names the list
    in book.toml that adds to them. ``refers`` names the log whose key the cell holds; ``if_empty`` says what no value means.
    """

    name: str
    kind: CellKind
    what: str
    required: bool = False
    key: bool = False
    low: float | None = None
    high: float | None = None
    above: float | None = None
    choices: tuple[str, ...] = ()
    more: str = ""
    refers: str = ""
    if_empty: str = ""

    @property
    def about(self) -> str:
        """What it holds, and what it means where it is empty."""
        return f"{self.what}; empty: {self.if_empty}" if self.if_empty else self.what

    @property
    def field(self) -> str:
        """The name inside the program: the unit at its end, e.g. ``mass_in_g``."""
        unit = KEPT_UNITS.get(self.kind)
        return f"{self.name}_{unit}" if unit else self.name

    @property
    def stored(self) -> str:
        """The database type."""
        return STORED.get(self.kind, "DOUBLE")


ID_LETTERS = r"[\w .\-/]+\Z"
"""What a name may be made of."""

ID_LONGEST = 40
"""Most characters of a name."""

JOINED = " + "
"""What stands between several words in one cell."""


@dataclass(frozen=True, slots=True)
class ColumnLimit:
    """One rule of a column's cells: its name, pandera's check for it, and the limit as that check's argument."""

    name: str
    check: str
    argument: str
    limit: Any


def rules(column: Column, words: tuple[str, ...]) -> list[ColumnLimit]:
    """The rules of a column's cells, stated once for whoever asks them; ``words`` are those a choice may have."""
    is_id = column.kind is CellKind.ID
    stated = (
        ColumnLimit("not-above", "greater_than", "min_value", column.above),
        ColumnLimit("too-low", "greater_than_or_equal_to", "min_value", column.low),
        ColumnLimit("too-high", "less_than_or_equal_to", "max_value", column.high),
        ColumnLimit("unknown-word", "isin", "allowed_values", words if column.kind is CellKind.CHOICE else None),
        ColumnLimit(
            "unknown-word", "str_matches", "pattern", _joined(words) if column.kind is CellKind.WORDS else None
        ),
        ColumnLimit("id-form", "str_matches", "pattern", ID_LETTERS if is_id else None),
        ColumnLimit("id-form", "str_length", "max_value", ID_LONGEST if is_id else None),
    )
    return [rule for rule in stated if rule.limit is not None]


def _joined(words: tuple[str, ...]) -> str:
    """The pattern of one or several of these words in one cell."""
    one = f"({'|'.join(map(re.escape, words))})"
    return rf"{one}({re.escape(JOINED)}{one})*\Z"


_KEEPS: Final[dict[str, Callable[[Any, Any], object]]] = {
    "greater_than": operator.gt,
    "greater_than_or_equal_to": operator.ge,
    "less_than_or_equal_to": operator.le,
    "isin": lambda word, words: word in words,
    "str_matches": lambda name, letters: re.match(letters, name),
    "str_length": lambda name, longest: len(name) <= longest,
}


def broken_limits(column: Column, value: object, words: tuple[str, ...]) -> Iterator[tuple[str, object]]:
    """The rules of its column that a stored value breaks, each with its limit.

    For a value at hand what the pandera models ask of whole logs. ``words`` are those a choice may have.
    """
    stated = rules(column, words)
    return ((rule.name, rule.limit) for rule in stated if not _KEEPS[rule.check](value, rule.limit))


def broken_limit(column: Column, value: object, words: tuple[str, ...]) -> tuple[str, object] | None:
    """The first rule of its column that a stored value breaks; None where it keeps them all."""
    return next(broken_limits(column, value, words), None)


@dataclass(frozen=True, slots=True)
class Log:
    """One log: what a row is, its columns, and which columns stand for one another.

    ``one_of`` lists groups of columns of which exactly one is filled; ``any_of`` groups of which at least one is.
    """

    name: str
    row_is: str
    columns: tuple[Column, ...]
    one_of: tuple[tuple[str, ...], ...] = ()
    any_of: tuple[tuple[str, ...], ...] = ()

    def __hash__(self) -> int:
        """By its name, which no other log has."""
        return hash(self.name)

    @property
    def file(self) -> str:
        """The file's usual name."""
        return f"{self.name}.csv"

    @property
    def key(self) -> tuple[str, ...]:
        """The names of the columns that identify a row; empty where rows have no name."""
        return tuple(c.name for c in self.columns if c.key)

    def column(self, name: str) -> Column:
        """The column of that name; KeyError where there is none."""
        return {c.name: c for c in self.columns}[name]
