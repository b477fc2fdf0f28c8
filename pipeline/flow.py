"""The run on one page: read the book, link its rows, leave out what cannot be used, model, check, hand over."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.book.book_folder import TOML, Book, read_book
from pipeline.checks.judgement import LeftOut, judge
from pipeline.checks.rule_engine import rules
from pipeline.contract.findings import Finding, has_errors, in_file_order
from pipeline.contract.log_columns import LOGS
from pipeline.database import settings_tables
from pipeline.database.connection import Warehouse, queries
from pipeline.reading.all_logs import Reading
from pipeline.reading.all_logs import read_book as read_logs

Meanwhile = Callable[[Warehouse], None]
"""Something begun with a book's logs while figures are still worked out."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A book that was read, linked, modelled and checked; figures are taken from ``warehouse``."""

    book: Book
    today: date
    on: date
    warehouse: Warehouse
    reading: Reading
    findings: list[Finding]
    left_out: list[LeftOut]

    @property
    def rows(self) -> dict[str, int]:
        """Rows read, by log."""
        return self.reading.rows

    @property
    def blocked(self) -> bool:
        """Whether the book has errors, so that figures are given only where rows may be left out."""
        return has_errors(self.findings)

    def hashes(self) -> dict[str, str]:
        """SHA-256 of ``book.toml`` and each log's file, by file name: what the figures were made from."""
        files = [self.book.folder / TOML, *self.reading.files.values()]
        return {f.name: hashlib.sha256(f.read_bytes()).hexdigest() for f in files if f.is_file()}


def load(folder: Path, today: date, *, on: date | None = None, meanwhile: Meanwhile | None = None) -> Loaded:
    """Everything up to the figures, for a book folder.

    Figures of the shelf are those of ``on`` (default: today). Rows with errors, and what hangs on them, stay out of
    every figure; whether that is acceptable is for the caller to say. ``meanwhile`` is called once the logs are read,
    where every cell is sound; if rows are left out after that, it came too soon. Raises MachineFault.
    """
    on = on or today
    book, findings = read_book(folder)
    warehouse = Warehouse()
    settings_tables.put(book, warehouse, today, on)
    read = read_logs(book, warehouse)
    names = {log: file.name for log, file in read.files.items()}
    if meanwhile and not has_errors(read.findings):
        meanwhile(warehouse)
    broken, left_out = judge(book, warehouse, read, queries("models"), rules())
    findings += read.findings + [each.finding for each in broken]
    files = [TOML, *(names.get(log, LOGS[log].file) for log in LOGS)]
    return Loaded(book, today, on, warehouse, read, in_file_order(findings, files), left_out)
