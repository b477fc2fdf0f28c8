"""The run on one page: read the book, link its rows, leave out what cannot be used, model, check, hand over.

Where nothing has changed since figures were last worked out, they are taken from the book's database file instead.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.book.book_settings import TOML, Book
from pipeline.book.book_toml import read_book
from pipeline.contract.findings import Finding, MachineFault, Severity, has_errors, in_file_order
from pipeline.contract.log_columns import LOGS
from pipeline.database import database_file, findings_and_origin_tables, settings_tables, shelf_on_another_day
from pipeline.database.connection import Warehouse
from pipeline.database.findings_and_origin_tables import LeftOut, Run
from pipeline.database.made_from import MadeFrom, made_from
from pipeline.database.model_order import needed_for
from pipeline.database.shipped_queries import Query, queries
from pipeline.database.tables_a_query_reads import read_by

if TYPE_CHECKING:
    from pipeline.reading.all_logs import Reading

_PATIENCE_S = 120
"""So long a build waits for another of the same book: many times what the largest that was measured takes."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A book that was read, linked, modelled and checked; figures are taken from ``warehouse``.

    ``origin``: what it was made from (None: a file could not be read); ``reading``: where rows stand in their files (None:
    the book was recalled from its database file).
    """

    book: Book
    today: date
    on: date
    warehouse: Warehouse
    run: Run
    origin: MadeFrom | None
    reading: Reading | None

    @property
    def rows(self) -> dict[str, int]:
        """Rows read, by log."""
        return self.run.rows

    @property
    def findings(self) -> list[Finding]:
        """What the checks found, in the order of files and lines."""
        return self.run.findings

    @property
    def left_out(self) -> list[LeftOut]:
        """What is in no figure."""
        return self.run.left_out

    @property
    def blocked(self) -> bool:
        """Whether the book has errors, so that figures are given only where rows may be left out."""
        return has_errors(self.findings)

    @property
    def files(self) -> dict[str, Path]:
        """The file of each log that has one."""
        return {log: self.book.folder / name for log, name in self.run.files.items()}

    def hashes(self) -> dict[str, str]:
        """SHA-256 of ``book.toml`` and each log's file, by file name: what the figures were made from."""
        known = dict(self.origin.origin) if self.origin else {}
        return {name: known[name] for name in (TOML, *self.run.files.values()) if name in known}

    def lines(self, log: str, rows: set[int]) -> dict[int, int]:
        """The physical line of each of these rows (1 = the first record) of a log."""
        if self.reading is None and (known := findings_and_origin_tables.lines(self.warehouse, log)) is not None:
            return {row: known[row - 1] for row in rows}
        reading = self.reading or _read_again(self.book)
        return reading.lines(log, rows)


def opened(folder: Path, today: date, on: date | None = None) -> Loaded:
    """A book's figures, from its database file where that was made from just the same, else worked out and kept there.

    Figures of the shelf are those of ``on`` (default: today). A folder that cannot be written only costs time; figures of
    a book with errors are not kept. Raises MachineFault where a log cannot be read.
    """
    origin = made_from(folder, today)
    loaded = recalled(folder, today, origin)
    if loaded is None:
        loaded = load(folder, today, origin)
        if not loaded.blocked:
            with suppress(MachineFault):
                keep(loaded, patience_s=0)
    return with_shelf_of(on or today, loaded)


def answering(tables: Collection[str], folder: Path, today: date, origin: MadeFrom) -> Loaded:
    """A book's figures from its database file, else worked out as far as these tables need them, and not kept.

    Of many books nobody reads warnings and notes, so only errors are looked for; other books are worked out meanwhile,
    so one statement at a time. Raises MachineFault.
    """
    return recalled(folder, today, origin) or _load(folder, today, origin, tables)


def recalled(folder: Path, today: date, origin: MadeFrom | None = None) -> Loaded | None:
    """A book's figures from its database file, where that was made from just what they would be made from now."""
    origin = origin or made_from(folder, today)
    found = origin and database_file.recalled(origin)
    if not found:
        return None
    book, _ = read_book(folder)
    return Loaded(book, today, today, found, findings_and_origin_tables.run(found), origin, None)


def keep(loaded: Loaded, patience_s: float = _PATIENCE_S) -> None:
    """Write a book's figures into its database file; nothing is to be done where they came from it. Raises MachineFault."""
    from pipeline.reading.logs_already_judged import JudgedLogs
    from pipeline.reading.one_log import ORDINARY

    if loaded.reading is None:
        return
    if loaded.origin is None:
        raise MachineFault(
            f"the files of {loaded.book.folder} could not all be read, so that its database cannot say so"
        )
    with closing(loaded.warehouse.beside()) as hand:  # others may ask meanwhile
        findings_and_origin_tables.put(loaded.run, loaded.origin.origin, loaded.reading.places, hand)
        database_file.keep(hand, loaded.book, loaded.origin, patience_s)
    JudgedLogs(loaded.origin).remember({log: f for log, f in loaded.files.items() if loaded.rows[log] <= ORDINARY})


def load(folder: Path, today: date, origin: MadeFrom | None = None) -> Loaded:
    """Everything up to the figures, worked out from the logs; the shelf is shown as of today.

    Rows with errors, and what hangs on them, stay out of every figure; whether that is acceptable is for the caller to
    say. ``origin``: what it is made from, where that is known. Raises MachineFault.
    """
    return _load(folder, today, origin or made_from(folder, today))


def _load(folder: Path, today: date, origin: MadeFrom | None, tables: Collection[str] = ()) -> Loaded:
    """Everything, or only what these tables need and the errors that bear on it; those are judged in the database alone."""
    from pipeline.checks.findings_and_rows_left_out import judge
    from pipeline.checks.rule_engine import rules
    from pipeline.reading.all_logs import has_few_rows
    from pipeline.reading.all_logs import read_book as read_logs
    from pipeline.reading.logs_already_judged import JudgedLogs
    from pipeline.reading.mangled_names import mangled_keys, with_one_cause

    book, findings = read_book(folder)
    few_rows = has_few_rows(book)
    warehouse = Warehouse(few_rows=few_rows, hands=1 if tables else None)
    known = LOGS if tables else JudgedLogs(origin).known(book) if origin else ()
    read = read_logs(book, warehouse, judged=known)
    models: Sequence[Query] = queries("models")
    asked = rules(read.held)
    wanted: Collection[str] = settings_tables.ABOUT
    if tables:
        asked = [rule for rule in asked if rule.severity is Severity.ERROR]
        rest = read_by([*(rule.query for rule in asked), *queries("checks/leaving_out")])
        models = needed_for(rest.union(tables), models)
        wanted = read_by(models).union(rest, tables)
    settings_tables.put(book, warehouse, today, today, wanted)
    names = {log: file.name for log, file in read.files.items()}
    mangled = mangled_keys(read.findings, warehouse)
    # of a million sessions they hold gigabytes; of a few, to drop each takes longer than it is worth
    steps = [] if few_rows else [model.name for model in models if not model.is_in_file]
    broken, left_out = judge(book, warehouse, read, models, asked, spare=steps)
    findings += read.findings + [each.finding for each in broken]
    findings = with_one_cause(findings, mangled)
    order = [TOML, *(names.get(log, LOGS[log].file) for log in LOGS)]
    run = Run(read.rows, names, in_file_order(findings, order), left_out)
    return Loaded(book, today, today, warehouse, run, origin, read)


def with_shelf_of(on: date, loaded: Loaded) -> Loaded:
    """The same book with the shelf as it was, or will be, on a day."""
    if on == loaded.on:
        return loaded
    shelf_on_another_day.show(loaded.warehouse, on)
    return replace(loaded, on=on)


def _read_again(book: Book) -> Reading:
    """Where the rows of a book stand, for one whose figures came from its database file."""
    from pipeline.reading.all_logs import read_book as read_logs

    aside = Warehouse()
    reading = read_logs(book, aside)
    aside.close()
    return reading
