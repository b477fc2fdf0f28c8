"""An entry: rows for several logs, checked by the columns' own rules before a byte is written, then written as one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.book import read_book
from pipeline.columns import Log
from pipeline.findings import Finding, Severity, has_errors
from pipeline.logs import LOGS
from pipeline.quantities import Marks, Refusal
from pipeline.recording import across, cells, journal
from pipeline.recording.logfile import LogFile, UnfitForWriting
from pipeline.recording.names import Names
from pipeline.recording.shape import Shape, header_name, split_name

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
    """A log's new rows as the cells to write, by column, and the columns it has to be given first."""

    shape: Shape
    rows: list[dict[str, str]]
    columns: list[str]


def log_named(name: str) -> Log | None:
    """The log meant by ``loads``, ``loads.csv`` or ``load``; None where there is none."""
    return LOGS.get(KINDS.get(name, name.removesuffix(".csv")))


def record(folder: Path, rows: Mapping[str, Sequence[Row]], what: str, beside: Sequence[journal.Write] = ()) -> Outcome:
    """Append rows to the logs, all or none; cells stand in people's words by column name, with or without unit.

    ``what`` names the entry for ``undo``; ``beside`` are other files of the book that change with it.
    Raises MachineFault, with the book untouched, where the machine cannot.
    """
    with journal.locked(folder):
        names = Names(read_book(folder)[0])
        checked, findings = _checked(names, rows)
        if has_errors(findings):
            return Outcome(findings=tuple(findings))
        return _append(folder, checked, findings, (what, beside))


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
    if not (folder / journal.FOLDER).is_dir():
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
    checked = _Checked(shape, [], [])
    for n, row in enumerate(given, 1):
        cleaned = _row_read(shape, n, row, findings)
        checked.rows.append(cleaned)
        lacking = [c for c in log.columns if cleaned.get(c.name) and c.name not in shape.where]
        checked.columns.extend(c.name for c in lacking if c.name not in checked.columns)
        if not names.add(log, cleaned) and all(cleaned.get(part) for part in log.key):
            key = "/".join(cleaned[part] for part in log.key)
            twice = Refusal(
                "double_key", f"{log.key[0]} {key} is in the log already", "give this one a name of its own"
            )
            findings.append(_finding(log, n, log.key[0], key, twice))
    return checked


def _row_read(shape: Shape, n: int, row: Row, findings: list[Finding]) -> dict[str, str]:
    """One row's cells as the log writes them; its faults are added to the findings."""
    log, cleaned = shape.log, dict[str, str]()
    unread: set[str] = set()
    for name, text in row.items():
        cell = _cell(shape, name, str(text).strip())
        if isinstance(cell, Refusal):
            findings.append(_finding(log, n, name, str(text), cell))
            unread.add(split[0].name if (split := split_name(log, name)) else name)
        elif cell is not None:
            cleaned[cell[0]] = cell[1]
    findings.extend(_missing(log, n, cleaned.keys() | unread))
    return cleaned


def _cell(shape: Shape, name: str, text: str) -> tuple[str, str] | Refusal | None:
    """A column's name and its text as the log writes it; None where the cell is empty."""
    split = split_name(shape.log, name)
    if split is None:
        own = {h.strip().lower(): h for h in shape.file.header}
        if name.strip().lower() in own:
            return (own[name.strip().lower()], text) if text else None
        return _unknown_column(shape.log, name)
    column, unit = split
    if not text:
        return None
    manner = shape.manner(column)
    value = cells.read(column, text, cells.Manner(unit or manner.unit, ".", manner.words, manner.dates), Marks.DOT)
    return value if isinstance(value, Refusal) else (column.name, cells.write(column, value, manner))


def _missing(log: Log, n: int, filled: Iterable[str]) -> list[Finding]:
    """Required columns left empty, and groups of columns of which the wrong number is filled."""
    filled = set(filled)
    empty = Refusal("missing", "it is empty, and every row needs it", "fill it in")
    found = [_finding(log, n, c.name, None, empty) for c in log.columns if c.required and c.name not in filled]
    for group, most in [*((g, 1) for g in log.one_of), *((g, len(g)) for g in log.any_of)]:
        count = len(filled & set(group))
        if not 1 <= count <= most:
            told = "exactly one" if most == 1 else "at least one"
            rule = "one_of_several" if most == 1 else "any_of_several"
            message = f"{count} of {', '.join(group)} are filled, and {told} must be"
            found.append(_finding(log, n, group[0], None, Refusal(rule, message, f"fill {told} of them")))
    if log.name == "candles" and "diameter" in filled and "height" not in filled:
        found.append(_finding(log, n, "height", None, Refusal("missing", "a diameter needs a height", "fill it in")))
    return found


def _linked(names: Names, checked: _Checked, findings: list[Finding]) -> None:
    """What the rows refer to, and the rules that one row can break on its own."""
    log = checked.shape.log
    for n, row in enumerate(checked.rows, 1):
        try:
            doubts = [(c.name, doubt) for c in log.columns if (doubt := names.doubts(log, c, row))]
            if not doubts and not any(f.log == log.name and f.line == n for f in findings):
                doubts = across.broken(names, log.name, row)
        except UnfitForWriting as unfit:
            doubts = [("", Refusal("log-unfit", str(unfit), ""))]
        findings.extend(_finding(log, n, column or None, row.get(column), doubt) for column, doubt in doubts)


def _append(
    folder: Path, checked: Sequence[_Checked], findings: list[Finding], named: tuple[str, Sequence[journal.Write]]
) -> Outcome:
    (what, beside), writes = named, list[journal.Write]()
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
        journal.commit(folder, what, [*writes, *beside])
    return Outcome(tuple(written), (), tuple(findings), tuple(said))


def _with_rows(each: _Checked, written: list[Written], said: list[str]) -> LogFile:
    """The log with its new rows; where each stands and what was added to its header go into the lists."""
    shape, log = each.shape, each.shape.log
    file = shape.file
    if each.columns:
        new = [header_name(shape.book, log.column(name)) for name in each.columns]
        file = file.with_columns(new)
        said.append(f"{shape.path.name} got the column{'s' if len(new) > 1 else ''} {', '.join(new)}")
    spots = {name: i for name, (i, _) in shape.where.items()}
    spots |= {name: len(shape.file.header) + i for i, name in enumerate(each.columns)}
    spots |= {h: i for i, h in enumerate(shape.file.header) if split_name(log, h) is None}
    rows = [_laid_out(row, spots, len(file.header)) for row in each.rows]
    line = len(file.text.replace("\r\n", "\n").replace("\r", "\n").removesuffix("\n").split("\n"))
    for row in rows:
        written.append(Written(log.name, line + 1))
        line += 1 + sum(c.replace("\r\n", "\n").replace("\r", "\n").count("\n") for c in row)
    return file.with_rows(rows)


def _laid_out(row: Mapping[str, str], spots: Mapping[str, int], width: int) -> list[str]:
    cells_ = [""] * width
    for name, text in row.items():
        cells_[spots[name]] = text
    return cells_


def _finding(log: Log, row: int | None, column: str | None, value: str | None, why: Refusal) -> Finding:
    """A fault of an entry; its line is the number of the row in the entry, since it stands in no file yet."""
    return Finding(log.name, row, column, value, why.rule, Severity.ERROR, why.message, why.fix)


def _unknown_log(name: str) -> Finding:
    fix = f"use one of: {', '.join(LOGS)}"
    return Finding(name, None, None, None, "unknown-log", Severity.ERROR, f"there is no log named {name}", fix)


def _unknown_column(log: Log, name: str) -> Refusal:
    listed = ", ".join(c.name for c in log.columns)
    return Refusal("unknown-column", f"{log.file} has no column {name}", f"it has: {listed}")
