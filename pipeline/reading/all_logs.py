"""All logs of a book, read: how many rows, from which files, what was found, and where rows stand."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from pipeline.book.book_settings import Book
from pipeline.contract.findings import Finding, MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Warehouse
from pipeline.reading.one_log import read_log
from pipeline.reading.scratch_folder import scratch_folder

_FEW = 200_000
"""Bytes of all logs of a book whose tables are small whatever it is asked: some five thousand rows."""


def has_few_rows(book: Book) -> bool:
    """Whether a book's logs are so short that planning a statement takes longer than running it."""
    return sum(file.lstat().st_size for log in LOGS for file in book.log_files(log)) < _FEW


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read: the number of rows and the file of each log, the findings, and where rows stand."""

    rows: dict[str, int]
    files: dict[str, Path]
    findings: list[Finding]
    places: dict[str, Sequence[int]]

    @property
    def held(self) -> set[str]:
        """The logs that have rows."""
        return {log for log, rows in self.rows.items() if rows}

    def lines(self, log: str, rows: set[int]) -> dict[int, int]:
        """The physical line of each row (row 1 = first record) of a log."""
        return {row: self.places[log][row - 1] for row in rows}


def read_book(
    book: Book,
    warehouse: Warehouse,
    instead: Mapping[str, list[Path]] = MappingProxyType({}),
    judged: Collection[str] = (),
) -> Reading:
    """Every log of the book as a typed table in the warehouse; a log without a file is an empty table.

    ``instead``: files that stand for a log's own, by log. ``judged``: logs that were judged before, see :func:`read_log`.
    Raises MachineFault where a file may not be read or there is no room for copies.
    """
    found = {name: instead.get(name, book.log_files(name)) for name in LOGS}
    try:
        with scratch_folder() as aside:
            order = _order({name: sum(f.lstat().st_size for f in files) for name, files in found.items()})
            made = warehouse.abreast(
                {name: [] for name in order},
                lambda hand, name: read_log(LOGS[name], found[name], book, hand, aside, name in judged),
            )
    except OSError as fault:
        raise MachineFault(f"the logs could not be read: {fault.strerror}") from fault
    read = {name: made[name] for name in LOGS}
    findings = [finding for log in read.values() for finding in log.findings]
    files = {name: paths[0] for name, paths in found.items() if paths}
    return Reading({n: r.rows for n, r in read.items()}, files, findings, {n: r.lines for n, r in read.items()})


def _order(sizes: dict[str, int]) -> list[str]:
    """The shortest log first, as pandera, which judges it, loads while long ones are read; then by size."""
    longest = sorted(sizes, key=lambda name: -sizes[name])
    shortest = min((name for name in sizes if sizes[name]), key=lambda name: sizes[name], default=longest[0])
    return [shortest, *(name for name in longest if name != shortest)]
