"""Rows as a person types them, read cell by cell into what their logs hold, before anything is asked across rows."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from pipeline.book.book_settings import Book
from pipeline.contract.columns import CellKind, Log
from pipeline.contract.findings import Finding, Severity
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Marks, Refusal
from pipeline.contract.weight_arithmetic import KEPT_DECIMALS, is_sum
from pipeline.reading.headers import named
from pipeline.reading.reading_rule_sentences import required_told
from pipeline.reading.record_reader import breaks
from pipeline.recording import written_cells
from pipeline.recording.log_bytes import LogFile, UnfitForWriting
from pipeline.recording.log_layout import Shape, header_name, shape_of
from pipeline.recording.noted_arithmetic import with_sums_noted

Row = Mapping[str, str]
KINDS = {
    "harvest": "harvests", "load": "loads", "pass": "passes", "block": "blocks", "draw": "draws",
    "stocktake": "stocktakes", "blend": "blends", "candle": "candles", "batch": "batches", "wick": "wicks",
    "burn": "burns", "sale": "sales",
}  # fmt: skip
"""What a person calls a row, and its log."""


@dataclass(slots=True)
class NewRows:
    """A log's new rows as the cells to write, by column, the columns that it has to be given first, and the lines."""

    shape: Shape
    rows: list[dict[str, str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)

    @property
    def columns(self) -> list[str]:
        """The columns that the log lacks and a row fills."""
        lacking = (name for row in self.rows for name in row if name not in self.shape.where | self.shape.others)
        return list(dict.fromkeys(lacking))

    @property
    def names(self) -> list[str]:
        """What each row is called: the parts of its key, joined as ``change`` takes them; empty in a log without a key."""
        return ["/".join(row.get(part, "") for part in self.shape.log.key) for row in self.rows]

    def added(self) -> LogFile:
        """The log with the rows at its end. Raises UnfitForWriting."""
        shape, file, columns = self.shape, self.shape.file, self.columns
        if columns:
            file = file.with_columns([header_name(shape.book, shape.log.column(name)) for name in columns])
        spots = {name: i for name, (i, _) in shape.where.items()} | shape.others
        spots |= {name: len(shape.file.header) + i for i, name in enumerate(columns)}
        return file.with_rows([_laid_out(row, spots, len(file.header)) for row in self.rows])


def log_named(name: str) -> Log | None:
    """The log meant by ``loads``, ``loads.csv`` or ``load``; None where there is none."""
    return LOGS.get(KINDS.get(name, name.removesuffix(".csv")))


def typed_rows(book: Book, rows: Mapping[str, Sequence[Row]]) -> tuple[list[NewRows], list[Finding]]:
    """The rows by log, and what of them cannot be read; each finding with the line that its row would stand on."""
    findings: list[Finding] = []
    made: list[NewRows] = []
    for name, given in rows.items():
        log = log_named(name)
        try:
            if log is None:
                findings.append(_unknown_log(name))
            elif given:
                made.append(_of_one_log(writable(book, log), given, findings))
        except UnfitForWriting as unfit:
            findings.append(unfit_told(log.file if log else name, unfit))
    return made, findings


def writable(book: Book, log: Log) -> Shape:
    """The log as it stands. Raises UnfitForWriting where it cannot be written into."""
    shape = shape_of(book, log)
    if shape.unfit:
        raise UnfitForWriting(shape.unfit)
    return shape


def unfit_told(file: str, unfit: UnfitForWriting) -> Finding:
    """A log that cannot take the entry, as a finding."""
    return refused(file, None, None, None, Refusal("log-unfit", str(unfit), ""))


def refused(file: str, line: int | None, column: str | None, value: str | None, why: Refusal) -> Finding:
    """A refusal as an error of an entry."""
    return Finding(file, line, column, value, why.rule, Severity.ERROR, why.message, why.fix)


def _of_one_log(shape: Shape, given: Sequence[Row], findings: list[Finding]) -> NewRows:
    new, line = NewRows(shape), shape.file.lines + 1
    for row in given:
        cells = dict[str, str]()
        for column, text, read in _cells(shape, with_sums_noted(shape.log, row)):
            if isinstance(read, Refusal):
                findings.append(refused(shape.path.name, line, column, text, read))
            cells[column] = "" if isinstance(read, Refusal) else read
        findings.extend(_gaps(shape, line, cells))
        new.rows.append({name: text for name, text in cells.items() if text})
        new.lines.append(line)
        line += 1 + sum(map(breaks, cells.values()))
    return new


def _cells(shape: Shape, row: Row) -> Iterator[tuple[str, str, str | Refusal]]:
    """Each cell's column, what was typed, and what is written, or why it is refused."""
    for name, text in row.items():
        cell = as_written(shape, name, str(text).strip())
        if isinstance(cell, Refusal):
            meant = named(shape.log, name)
            yield meant[0].name if meant else name, str(text), cell
        else:
            yield cell[0], str(text), cell[1]


def _gaps(shape: Shape, line: int, cells: Mapping[str, str]) -> Iterator[Finding]:
    """Required columns that nothing was given for; one that could not be read was told already."""
    for column in shape.log.columns:
        if column.required and column.name not in cells:
            yield refused(shape.path.name, line, column.name, None, required_told(shape.log, column))


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
    if isinstance(value, Refusal):
        return value
    if column.kind is CellKind.MASS and is_sum(text):  # 8.1875 lb, not 8.187505447
        return column.name, written_cells.write(column, value, manner, KEPT_DECIMALS)
    return column.name, written_cells.write(column, value, manner)


def columns_told(shape: Shape, added: Sequence[str]) -> tuple[str, ...]:
    """The sentence about columns that a log had to be given."""
    new = [header_name(shape.book, shape.log.column(name)) for name in added]
    return (f"{shape.path.name} got the column{'s' if len(new) > 1 else ''} {', '.join(new)}",) if new else ()


def _laid_out(row: Mapping[str, str], spots: Mapping[str, int], width: int) -> list[str]:
    cells = [""] * width
    for name, text in row.items():
        cells[spots[name]] = text
    return cells


def _unknown_log(name: str) -> Finding:
    fix = f"use one of: {', '.join(LOGS)}"
    return Finding(name, None, None, None, "unknown-log", Severity.ERROR, f"there is no log named {name}", fix)


def _unknown_column(log: Log, name: str) -> Refusal:
    listed = ", ".join(c.name for c in log.columns)
    meant = difflib.get_close_matches(name.strip().lower(), [c.name for c in log.columns], 1)
    its = f"did you mean {meant[0]}? Its" if meant else "its"
    return Refusal("unknown-column", f"{log.file} has no column {name}", f"{its} columns are {listed}")
