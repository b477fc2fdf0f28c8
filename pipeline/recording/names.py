"""What the logs hold already, and what is about to be recorded: rows found by a name, without reading whole logs."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from pipeline.book.book_folder import Book
from pipeline.contract.columns import Kind, Log
from pipeline.contract.log_columns import LOGS
from pipeline.recording.log_layout import Shape, shape_of

Row = Mapping[str, str]
_FEW = 4  # names like one that was mistyped: as many as are taken in at a glance
_LATEST = 2000  # names of each log that a mistyped one is compared with: older ones are hardly meant, and comparing takes time


@dataclass
class Names:
    """The rows of one book. ``shapes`` may hold logs as they would stand after a change."""

    book: Book
    shapes: dict[str, Shape] = field(default_factory=dict)
    _new: dict[tuple[str, str, str], list[Row]] = field(default_factory=dict)
    _filled: set[str] = field(default_factory=set)
    _found: dict[tuple[str, str, str], list[dict[str, str]]] = field(default_factory=dict)

    def shape(self, log: str) -> Shape:
        """The log as it stands. Raises UnfitForWriting."""
        if log not in self.shapes:
            self.shapes[log] = shape_of(self.book, LOGS[log])
        return self.shapes[log]

    def add(self, log: Log, row: Row) -> None:
        """Take a row in that is about to be recorded."""
        self._filled.add(log.name)
        for column in log.columns:
            if column.kind is Kind.ID and (value := row.get(column.name)):
                self._new.setdefault((log.name, column.name, value), []).append(row)

    def rows(self, log: str, column: str, value: str) -> list[Row]:
        """The rows, on disk and new, whose cell of a column that holds names is ``value``."""
        spot = (log, column, value)
        if spot not in self._found:
            self._found[spot] = self.shape(log).having(column, value)
        return [*self._found[spot], *self._new.get(spot, ())]

    def named(self, log: str, value: str) -> list[Row]:
        """The rows that carry a name as (the first part of) their key."""
        return self.rows(log, LOGS[log].key[0], value)

    def is_new(self, log: str, value: str) -> bool:
        """Whether no row on disk carries a name yet."""
        return len(self.named(log, value)) == len(self._new.get((log, LOGS[log].key[0], value), ()))

    def same_key(self, log: Log, row: Row) -> list[Row]:
        """The rows that carry the very key of this one, itself among them."""
        key = _key(log, row)
        return [other for other in self.named(log.name, row[log.key[0]]) if _key(log, other) == key]

    def is_empty(self, log: str) -> bool:
        """Whether the log has no row, and gets none."""
        return log not in self._filled and self.shape(log).is_empty

    def near(self, value: str, logs: Iterable[str]) -> list[str]:
        """Names that look like one which no row carries."""
        import difflib

        known = {name for log in logs for name in self.shape(log).values(LOGS[log].key[0])[-_LATEST:]}
        return difflib.get_close_matches(value, sorted(known), _FEW, 0.6)


def _key(log: Log, row: Row) -> tuple[str | int, ...]:
    """A row's key, counts by their value: pass 01 is pass 1."""
    return tuple(
        number(row.get(c.name, "")) if c.kind is Kind.COUNT else row.get(c.name, "") for c in log.columns if c.key
    )


def number(text: str) -> str | int:
    """A count by its value; text that is none stays text."""
    return int(text) if re.fullmatch("[+-]?[0-9]{1,9}", text) else text
