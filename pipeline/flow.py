"""The run on one page: read the book, link its rows, leave out what cannot be used, model, check, hand over."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.book.book_folder import TOML, Book, read_book
from pipeline.checks import rule_engine
from pipeline.contract.findings import Finding, Severity, has_errors, in_file_order
from pipeline.contract.log_columns import LOGS
from pipeline.database import settings_tables
from pipeline.database.connection import Warehouse, queries
from pipeline.reading.all_logs import Reading
from pipeline.reading.all_logs import read_book as read_logs

Meanwhile = Callable[[Warehouse], None]
"""Something begun with a book's logs while figures are still worked out."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What of one log could not be used: how many rows, and the grams in its mass column."""

    log: str
    rows: int
    mass_g: float


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
    models, checks = queries("models"), rule_engine.checks()
    linking = [c for c in checks if rule_engine.severity(c) is Severity.ERROR]
    rest = [c for c in checks if c not in linking]
    sound = not has_errors(read.findings)
    if sound and meanwhile:
        meanwhile(warehouse)
    # where all cells are sound, most likely all rows link: everything is worked out at once, and again if that was wrong
    early = models if sound else warehouse.needed_for([*linking, *queries("checks/leaving_out")], models)
    answers = warehouse.run(early, checks if sound else linking)
    findings += read.findings + rule_engine.findings(linking, answers, names, read.lines)
    left_out = _leave_out(warehouse, read, [(row["log"], row["row"]) for c in linking for row in answers[c.name]])
    if left_out or not sound:
        answers = warehouse.run(models, rest)
    findings += rule_engine.findings(rest, answers, names, read.lines)
    files = [TOML, *(names.get(log, LOGS[log].file) for log in LOGS)]
    return Loaded(book, today, on, warehouse, read, in_file_order(findings, files), left_out)


def _leave_out(warehouse: Warehouse, read: Reading, faulty: list[tuple[str, int]]) -> list[LeftOut]:
    """Take the faulty rows, the bad ones of the reading, and all that hangs on them out of the log tables."""
    warehouse.execute("CREATE OR REPLACE TABLE left_out (log VARCHAR, row INTEGER)")
    for log in LOGS:
        warehouse.execute(f"INSERT INTO left_out SELECT '{log}', row FROM \"{log}\" WHERE bad")
    warehouse.insert("left_out", sorted(set(faulty)))
    (hanging,) = queries("checks/leaving_out")
    before = -1
    while before != (before := _count(warehouse)) and before:
        warehouse.execute(f"INSERT INTO left_out {hanging.sql}")
    return [entry for log in LOGS if (entry := _taken_out(warehouse, log)).rows]


def _count(warehouse: Warehouse) -> int:
    return int(warehouse.rows("SELECT count(*) AS n FROM left_out")[0]["n"])


def _taken_out(warehouse: Warehouse, log: str) -> LeftOut:
    """Delete a log's rows that are left out, and say how many grams they held."""
    held = next((c.field for c in LOGS[log].columns if c.name in ("mass", "wax_out")), "NULL")
    chosen = f"row IN (SELECT row FROM left_out WHERE log = '{log}')"
    sums = warehouse.rows(f'SELECT count(*) AS n, coalesce(sum({held}), 0) AS g FROM "{log}" WHERE {chosen}')[0]
    if sums["n"]:
        warehouse.execute(f'DELETE FROM "{log}" WHERE {chosen}')
    return LeftOut(log, int(sums["n"]), float(sums["g"]))
