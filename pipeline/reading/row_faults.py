"""What is wrong with the rows of one log, such as too many cells: the first thousand of a kind in full, the rest counted."""

from __future__ import annotations

from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field

from pipeline.contract.findings import MOST_TOLD
from pipeline.contract.quantities import Refusal
from pipeline.reading.record_reader import LONGEST, WIDEST, Record

_TOLD = 40
"""So many characters of a cell beyond the last column are enough to know it by."""

Kind = tuple[str, str | None]
"""A rule, and the column that breaks it (None: the row as a whole)."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with one cell of a row; ``column`` None: with the row as a whole."""

    row: int
    column: str | None
    typed: str | None
    refusal: Refusal

    @property
    def kind(self) -> Kind:
        """The rule and the column."""
        return self.refusal.rule, self.column


@dataclass(frozen=True, slots=True)
class Beyond:
    """Faults of one kind that are only counted: how many, and the last row among them."""

    kind: Kind
    count: int
    last_row: int


@dataclass(slots=True)
class RowFaults:
    """The faults of a log as they are found; ``rows`` are those of the faults added, told or not."""

    told: list[Fault] = field(default_factory=list)
    rows: array[int] = field(default_factory=lambda: array("L"))
    _told: dict[Kind, int] = field(default_factory=dict)
    _beyond: dict[Kind, tuple[int, int]] = field(default_factory=dict)

    def add(self, fault: Fault) -> None:
        """One more fault; told or counted."""
        self.rows.append(fault.row)
        told = self._told.get(fault.kind, 0)
        if told < MOST_TOLD:
            self._told[fault.kind] = told + 1
            self.told.append(fault)
        else:
            self.count(fault.kind, 1, fault.row)

    def count(self, kind: Kind, more: int, last_row: int) -> None:
        """So many more of a kind that nobody tells one by one."""
        before, last = self._beyond.get(kind, (0, 0))
        self._beyond[kind] = before + more, max(last, last_row)

    def beyond(self) -> Iterator[Beyond]:
        """What is only counted."""
        for kind, (count, last_row) in self._beyond.items():
            yield Beyond(kind, count, last_row)

    def last_told(self, kind: Kind) -> int:
        """The last row of those told of a kind; 0 where none is."""
        return max((fault.row for fault in self.told if fault.kind == kind), default=0)

    def how_many_told(self, kind: Kind) -> int:
        """How many of a kind are told one by one."""
        return self._told.get(kind, 0)

    def how_many_counted(self, kind: Kind) -> int:
        """How many of a kind are only counted."""
        return self._beyond.get(kind, (0, 0))[0]


def wrong_with(record: Record, width: int) -> Iterator[Refusal]:
    """What is wrong with a row as a whole: a quote never closed, more cells than the header, a cell too long to be meant."""
    if record.fault:
        yield record.fault
        return
    beyond = next((cell for cell in record.cells[width:] if cell), None)
    if beyond is not None:
        yield _too_many(record, width, beyond)
    if any(len(cell) > LONGEST for cell in record.cells) or sum(map(len, record.cells)) > WIDEST:
        reason = f"a cell holds more than {LONGEST:,} characters, or the row more than {WIDEST:,}"
        yield Refusal("cell-length", reason, 'look for a quote (") that is opened and not closed, and shorten the text')


def _too_many(record: Record, width: int, first: str) -> Refusal:
    found, last = len(record.cells), record.line + record.lines - 1
    row = f"the row on lines {record.line} to {last}" if record.lines > 1 else "the row"
    beyond = first if len(first) <= _TOLD else f"{first[:_TOLD]}…"
    reason = f"{row} has {found} cells, {found - width} more than the header; {beyond!r} stands beyond it"
    fix = 'put a cell that holds the separator into double quotes ("white, clean"), or delete the extra cell'
    return Refusal("row-too-long", reason, fix)
