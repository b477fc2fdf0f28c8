"""What the rules say of the book as it would be that they do not say of the book as it is.

An entry is judged by the rules of ``check`` and by nothing else: the logs as they would stand are read and asked like any
book. The book as it is is asked only where something was found, and then only by the rules that found it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from pipeline.book.book_settings import Book
from pipeline.checks.findings_and_rows_left_out import judge
from pipeline.checks.rule_engine import Broken, rules
from pipeline.checks.rule_files import SqlRule
from pipeline.contract.findings import Finding, Severity, log_name
from pipeline.contract.log_columns import LOGS
from pipeline.database import settings_tables
from pipeline.database.connection import Warehouse
from pipeline.database.model_order import in_order, needed_for
from pipeline.database.shipped_queries import Query, queries
from pipeline.database.tables_a_query_reads import read_by, tables_of
from pipeline.reading.all_logs import has_few_rows
from pipeline.reading.all_logs import read_book as read_logs
from pipeline.reading.scratch_folder import scratch_folder
from pipeline.recording.log_bytes import LogFile
from pipeline.recording.log_layout import Shape
from pipeline.recording.near_names import with_near_names

_LINE_END = re.compile(r"\r\n|\r|\n")
_SMALLEST = 1e-9
"""An amount that grew by less has not grown: it is a sum of floats."""


@dataclass(frozen=True, slots=True)
class Edit:
    """One log before and after: its shape, its text as it would be, and where changed rows stood (line after: before)."""

    shape: Shape
    file: LogFile
    moved: Mapping[int, int] = field(default_factory=dict)

    @property
    def log(self) -> str:
        """The log's name."""
        return self.shape.log.name


def new_findings(book: Book, today: date, edits: Sequence[Edit]) -> list[Finding]:
    """What an entry would bring: findings of the book with it that the book without it has not, or has by a lesser amount.

    In the order of the logs. Raises MachineFault where the logs may not be read.
    """
    touched = {edit.log for edit in edits}
    with written_aside(edits) as instead, asked_book(book, today, instead, _asked_of(touched)) as (found, warehouse):
        if not found:
            return []
        rules_found = {each.finding.rule for each in found}
        linking = [rule for rule in _asked_of(touched) if rule.severity is Severity.ERROR or rule.name in rules_found]
        with asked_book(book, today, {}, linking) as (known, _):
            new = _new(found, known, _Rows({e.log: e for e in edits}))
        return [with_near_names(finding, warehouse) for finding in new]


def _asked_of(touched: Iterable[str]) -> list[SqlRule]:
    """The rules that can say something else of the book once these logs are others.

    All that link, as a row that does not link takes others out with it; of the rest those that read one of the logs.
    """
    reached = set(touched)
    for model in in_order(queries("models")):
        if tables_of(model.sql) & reached:
            reached.add(model.name)
    return [r for r in rules() if r.severity is Severity.ERROR or tables_of(r.query.sql) & reached]


@contextmanager
def written_aside(edits: Sequence[Edit]) -> Iterator[dict[str, list[Path]]]:
    """The logs as they would be, as files of the same names in a folder that goes again."""
    with scratch_folder() as folder:
        aside = {edit.log: folder / edit.shape.path.name for edit in edits}
        for edit in edits:
            aside[edit.log].write_bytes(edit.file.encoded())
        yield {log: [path] for log, path in aside.items()}


@contextmanager
def asked_book(
    book: Book, today: date, instead: Mapping[str, list[Path]], asked: Sequence[SqlRule], more: Sequence[Query] = ()
) -> Iterator[tuple[list[Broken], Warehouse]]:
    """What reading and rules find in a book, some of whose logs are taken from elsewhere, and where it was read into.

    With the models and settings that the rules, and ``more``, read. Raises MachineFault.
    """
    warehouse = Warehouse(few_rows=has_few_rows(book))
    try:
        read = read_logs(book, warehouse, instead, judged=LOGS)
        names = {rule.name for rule in asked}
        asked = [rule for rule in rules(read.held) if rule.name in names]
        tables = read_by([*_all_queries(asked), *more])
        models = needed_for(tables, queries("models"))
        settings_tables.put(book, warehouse, today, today, tables | read_by(models))
        broken, _ = judge(book, warehouse, read, models, asked, most=None)
        yield [*map(Broken, read.findings), *broken], warehouse
    finally:
        warehouse.close()


def _all_queries(asked: Sequence[SqlRule]) -> list[Query]:
    return [*(rule.query for rule in asked), *queries("checks/leaving_out")]


class _Rows:
    """What stands on the lines of the logs, so that a row is known again wherever it stands."""

    def __init__(self, edits: Mapping[str, Edit]) -> None:
        self._edits = edits
        self._before = {log: _lines(edit.shape.file.text) for log, edit in edits.items()}
        self._after = {log: _lines(edit.file.text) for log, edit in edits.items()}

    def before(self, finding: Finding) -> str:
        """The row that a finding of the book as it is stands in."""
        log = log_name(finding.log)
        return self._told(self._before.get(log), log, finding.line)

    def after(self, finding: Finding) -> str:
        """The row that a finding of the book as it would be stands in; a changed row is the one that it was."""
        log = log_name(finding.log)
        moved = self._edits[log].moved if log in self._edits else {}
        if finding.line is not None and finding.line in moved:
            return self._told(self._before[log], log, moved[finding.line])
        return self._told(self._after.get(log), log, finding.line)

    def _told(self, lines: Sequence[str] | None, log: str, line: int | None) -> str:
        first = self._edits[log].shape.file.first if log in self._edits else None
        if line is None or lines is None or line > len(lines) or (first and line <= first.line):
            return f"line {line}"
        return lines[line - 1]


def _lines(text: str) -> list[str]:
    """The physical lines, without the empty cells that a new column puts at the end of each."""
    return [line.rstrip(",;\t ") for line in _LINE_END.split(text)]


def _new(found: Sequence[Broken], known: Sequence[Broken], rows: _Rows) -> list[Finding]:
    amounts: dict[tuple[object, ...], float] = {}
    for each in known:
        key = _key(each, rows.before(each.finding))
        amounts[key] = max(amounts.get(key, 0.0), each.amount)
    keyed = [(each, _key(each, rows.after(each.finding))) for each in found]
    new = [each.finding for each, key in keyed if key not in amounts or each.amount > amounts[key] + _SMALLEST]
    return sorted(dict.fromkeys(new), key=lambda f: (list(LOGS).index(log_name(f.log)), f.line or 0, f.column or ""))


def _key(each: Broken, row: str) -> tuple[object, ...]:
    finding = each.finding
    return finding.rule, log_name(finding.log), finding.column, row, each.subject
