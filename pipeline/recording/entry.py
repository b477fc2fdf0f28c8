"""An entry: rows for several logs, checked by the columns' own rules before a byte is written, then written as one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.book.book_folder import WORKSHOP, read_book
from pipeline.contract.columns import Log
from pipeline.contract.findings import Finding, Severity, has_errors
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Marks, Refusal
from pipeline.reading.headers import named
from pipeline.reading.record_reader import breaks
from pipeline.recording import across, journal, written_cells
from pipeline.recording.log_layout import Shape, header_name
from pipeline.recording.logfile import LogFile, UnfitForWriting
from pipeline.recording.names import Names

Row = Mapping[str, str]
KINDS = {
    "harvest": "harvests", "load": "loads", "pass": "passes", "block": "blocks", "draw": "draws",
    "stocktake": "stocktakes", "blend": "blends", "candle": "candles", "batch": "batches", "wick": "wicks",
    "burn": "burns", "sale": "sales",
}  # fmt: skip
"""What a person calls a row, and its log."""


@dataclass(frozen=True, slots=True)
class Written:
    """Where a row was written: the log's name and the physical line."""

    log: str
    line: int


@dataclass(frozen=True, slots=True)
class Changed:
    """A cell that was changed in place; an empty cell is empty text."""

    log: str
    line: int
    column: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an entry came to: rows written or cells changed, or the findings that stopped it; ``said`` is worth telling."""

    written: tuple[Written, ...] = ()
    changed: tuple[Changed, ...] = ()
    findings: tuple[Finding, ...] = ()
    said: tuple[str, ...] = ()

    @property
    def refused(self) -> bool:
        """Whether nothing was written because of errors."""
        return has_errors(self.findings)


@dataclass(frozen=True, slots=True)
class _Checked:
    """A log's new rows as the cells to write, by column, the columns it has to be given first, and the rows half read."""

    shape: Shape
    rows: list[dict[str, str]]
    columns: list[str]
    unread: set[int]


@dataclass(frozen=True, slots=True)
class _Named:
    """What an entry is called, what changes with it, and the mark it is known again by."""

    what: str
    beside: Sequence[journal.Write]
    token: str


def log_named(name: str) -> Log | None:
    """The log meant by ``loads``, ``loads.csv`` or ``load``; None where there is none."""
    return LOGS.get(KINDS.get(name, name.removesuffix(".csv")))


def record(
    folder: Path, rows: Mapping[str, Sequence[Row]], what: str, beside: Sequence[journal.Write] = (), token: str = ""
) -> Outcome:
    """Append rows to the logs, all or none; cells stand in people's words by column name, with or without unit.

    ``what`` names the entry for ``undo``; ``beside`` are other files of the book that change with it. An entry with
    the ``token`` of an earlier one is that one sent again, and is not written twice.
    Raises MachineFault, with the book untouched, where the machine cannot.
    """
    with journal.locked(folder):
        if journal.carried_out(folder, token):
            return Outcome(said=("this entry was written before",))
        checked, findings = _checked(Names(read_book(folder)[0]), rows)
        if has_errors(findings):
            return Outcome(findings=tuple(findings))
        return _append(folder, checked, findings, _Named(what, beside, token))


def findings_of(folder: Path, rows: Mapping[str, Sequence[Row]]) -> list[Finding]:
    """What ``record`` would say of these rows, without writing."""
    return _checked(Names(read_book(folder)[0]), rows)[1]


def told(finding: Finding) -> str:
    """A finding of an entry as a sentence; its line is the row's number in the entry."""
    place = finding.log if finding.line is None else f"{finding.log} row {finding.line}"
    place = f"{place}, {finding.column}" if finding.column else place
    return f"{place}: {finding.message}; {finding.fix}" if finding.fix else f"{place}: {finding.message}"


def undo(folder: Path) -> str | list[str] | None:
    """Take the last entry back: its words, the logs that were changed since, or None where there is nothing."""
    if not (folder / WORKSHOP).is_dir():
        return None
    with journal.locked(folder):
        return journal.take_back(folder)


def _checked(names: Names, rows: Mapping[str, Sequence[Row]]) -> tuple[list[_Checked], list[Finding]]:
    """Every row read and checked, keys first so that rows may refer to one another."""
    findings: list[Finding] = []
    checked: list[_Checked] = []
    for name, given in rows.items():
        log = log_named(name)
        if log is None:
            findings.append(_unknown_log(name))
            continue
        try:
            checked.append(_rows_read(names, log, given, findings))
        except UnfitForWriting as unfit:
            findings.append(_finding(log, None, None, None, Refusal("log-unfit", str(unfit), "")))
    for each in checked:
        _linked(names, each, findings)
    return checked, findings


def _rows_read(names: Names, log: Log, given: Sequence[Row], findings: list[Finding]) -> _Checked:
    shape = names.shape(log.name)
    if shape.unfit:
        raise UnfitForWriting(shape.unfit)
    checked = _Checked(shape, [], [], set())
    for n, row in enumerate(given, 1):
        cleaned = _row_read(checked, n, row, findings)
        checked.rows.append(cleaned)
        lacking = [c for c in log.columns if cleaned.get(c.name) and c.name not in shape.where]
        checked.columns.extend(c.name for c in lacking if c.name not in checked.columns)
        names.add(log, cleaned)
    return checked


def _row_read(checked: _Checked, n: int, row: Row, findings: list[Finding]) -> dict[str, str]:
    """One row's cells as the log writes them; its faults are added to the findings."""
    shape, cleaned, unread = checked.shape, dict[str, str](), set[str]()
    log = shape.log
    for name, text in row.items():
        cell = as_written(shape, name, str(text).strip())
        if isinstance(cell, Refusal):
            findings.append(_finding(log, n, name, str(text), cell))
            meant = named(log, name)
            unread.add(meant[0].name if meant else name)
            checked.unread.add(n)
        elif cell[1]:
            cleaned[cell[0]] = cell[1]
    findings.extend(_finding(log, n, d.column, None, d.why) for d in across.gaps(log, cleaned.keys() | unread))
    return cleaned


def as_written(shape: Shape, name: str, text: str) -> tuple[str, str] | Refusal:
    """A column's name and the text that stands for ``text`` in the log's own unit and mark (empty: an empty cell)."""
    meant = named(shape.log, name)
    if meant is None:
        own = {h.lower(): h for h in shape.others}
        if name.strip().lower() in own:
            return own[name.strip().lower()], text
        return _unknown_column(shape.log, name)
    column, unit = meant
    if not text:
        return column.name, ""
    manner = shape.manner(column)
    manner_here = replace(manner, unit=unit or manner.unit, decimal=".")
    value = written_cells.read(column, text, manner_here, Marks.DOT)
    return value if isinstance(value, Refusal) else (column.name, written_cells.write(column, value, manner))


def _linked(names: Names, checked: _Checked, findings: list[Finding]) -> None:
    """What the rows refer to, and the rules that a row can break among the others."""
    log = checked.shape.log
    for n, row in enumerate(checked.rows, 1):
        try:
            doubts = across.broken(names, log, row, n not in checked.unread)
        except UnfitForWriting as unfit:
            doubts = [across.Doubt("", Refusal("log-unfit", str(unfit), ""))]
        findings.extend(_finding(log, n, d.column or None, row.get(d.column), d.why, d.severity) for d in doubts)


def _append(folder: Path, checked: Sequence[_Checked], findings: list[Finding], sent: _Named) -> Outcome:
    writes = list[journal.Write]()
    written, said = list[Written](), list[str]()
    for each in checked:
        if not each.rows:
            continue
        try:
            after = _with_rows(each, written, said)
            writes.append(journal.Write(each.shape.path.name, each.shape.data, after.encoded()))
        except UnfitForWriting as unfit:
            fault = _finding(each.shape.log, None, None, None, Refusal("log-unfit", str(unfit), ""))
            return Outcome(findings=(*findings, fault))
    if writes:
        journal.commit(folder, sent.what, [*writes, *sent.beside], sent.token)
    return Outcome(tuple(written), (), tuple(findings), tuple(said))


def _with_rows(each: _Checked, written: list[Written], said: list[str]) -> LogFile:
    """The log with its new rows; where each stands and what was added to its header go into the lists."""
    shape, log = each.shape, each.shape.log
    file = shape.file
    if each.columns:
        file = file.with_columns([header_name(shape.book, log.column(name)) for name in each.columns])
        said.extend(columns_told(shape, each.columns))
    spots = {name: i for name, (i, _) in shape.where.items()}
    spots |= {name: len(shape.file.header) + i for i, name in enumerate(each.columns)}
    spots |= shape.others
    rows = [_laid_out(row, spots, len(file.header)) for row in each.rows]
    line = file.lines + 1
    for row in rows:
        written.append(Written(log.name, line))
        line += 1 + sum(map(breaks, row))
    return file.with_rows(rows)


def columns_told(shape: Shape, added: Sequence[str]) -> tuple[str, ...]:
    """The sentence about columns that a log had to be given."""
    new = [header_name(shape.book, shape.log.column(name)) for name in added]
    return (f"{shape.path.name} got the column{'s' if len(new) > 1 else ''} {', '.join(new)}",) if new else ()


def _laid_out(row: Mapping[str, str], spots: Mapping[str, int], width: int) -> list[str]:
    cells_ = [""] * width
    for name, text in row.items():
        cells_[spots[name]] = text
    return cells_


def _finding(  # noqa: PLR0913, PLR0917 - a finding's own parts
    log: Log, row: int | None, column: str | None, value: str | None, why: Refusal, grade: Severity = Severity.ERROR
) -> Finding:
    """A fault of an entry; its line is the number of the row in the entry, since it stands in no file yet."""
    return Finding(log.name, row, column, value, why.rule, grade, why.message, why.fix)


def _unknown_log(name: str) -> Finding:
    fix = f"use one of: {', '.join(LOGS)}"
    return Finding(name, None, None, None, "unknown-log", Severity.ERROR, f"there is no log named {name}", fix)


def _unknown_column(log: Log, name: str) -> Refusal:
    listed = ", ".join(c.name for c in log.columns)
    return Refusal("unknown-column", f"{log.file} has no column {name}", f"it has: {listed}")
