"""From files on disk to typed tables in the warehouse, with a finding for every cell that cannot be read."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from pipeline.book import Book
from pipeline.columns import SUFFIXES, Kind, Log
from pipeline.findings import Finding
from pipeline.logs import LOGS
from pipeline.quantities import UNITS
from pipeline.warehouse import Warehouse, quoted


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read: the number of rows and the file of each log, and the findings."""

    rows: dict[str, int]
    files: dict[str, Path]
    findings: list[Finding]

    def lines(self, log: str, rows: set[int]) -> dict[int, int]:
        """The physical line of each row (row 1 = first record) of a log."""
        return {row: row + 1 for row in rows}


def read_book(book: Book, warehouse: Warehouse) -> Reading:
    """Every log of the book as a typed table in the warehouse; a log without a file is an empty table."""
    files = {name: found[0] for name in LOGS if (found := book.log_files(name))}
    for name, log in LOGS.items():
        warehouse.execute(_table(log, files.get(name)))
    rows = {name: int(warehouse.rows(f'SELECT count(*) AS n FROM "{name}"')[0]["n"]) for name in LOGS}
    return Reading(rows, files, [])


def _table(log: Log, file: Path | None) -> str:
    if file is None:
        cells = ", ".join(f'NULL::{c.stored} AS "{c.field}"' for c in log.columns)
        return f'CREATE TABLE "{log.name}" AS SELECT 0::INTEGER AS row, {cells}, false AS bad LIMIT 0'
    header = next(csv.reader(file.read_text("utf-8").splitlines()))
    raw = "{" + ", ".join(f"{quoted(h)}: 'VARCHAR'" for h in header) + "}"
    cells = ", ".join(_cell(log, c.name, header) for c in log.columns)
    source = f"read_csv({quoted(str(file))}, auto_detect=false, header=true, delim=',', quote='\"', columns={raw})"
    return f'CREATE TABLE "{log.name}" AS SELECT (row_number() OVER ())::INTEGER AS row, {cells}, false AS bad FROM {source}'


def _cell(log: Log, name: str, header: list[str]) -> str:
    column = log.column(name)
    for unit in ("", *SUFFIXES.get(column.kind, ())):
        head = f"{name}_{unit}" if unit else name
        if head in header:
            value = f"nullif(trim(\"{head}\"), '')"
            if column.kind is Kind.YES_NO:
                value = f"{value} IN ('yes', 'true', '1')"
            elif unit:
                u = UNITS[unit]
                value = f"{value}::DOUBLE * {float(u.factor)!r} + {float(u.offset)!r}"
            return f'({value})::{column.stored} AS "{column.field}"'
    return f'NULL::{column.stored} AS "{column.field}"'
