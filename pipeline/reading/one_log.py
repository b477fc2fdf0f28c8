"""One log: its file taken into the warehouse as a typed table, with a finding for all that could not be read."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from pipeline.book.book_folder import Book
from pipeline.contract.columns import Kind, Log
from pipeline.contract.findings import Finding
from pipeline.contract.log_columns import broken_cells, words
from pipeline.contract.log_models import broken, model
from pipeline.contract.quantities import Refusal
from pipeline.database.connection import Warehouse, quoted
from pipeline.reading.cell_reader import read_cell
from pipeline.reading.column_limits_sql import breaks
from pipeline.reading.headers import Heading
from pipeline.reading.line_numbers import Lines
from pipeline.reading.log_table_sql import ODD, empty, filled, text_of
from pipeline.reading.opened_file import Fault, Source, open_source
from pipeline.reading.reading_rules import MANGLED, mangled_told, required_told, rule_told, severity

ORDINARY = 20_000
"""Up to so many rows pandera checks a log whole; on larger ones it explains what the same rules in SQL point at."""


@dataclass(frozen=True, slots=True)
class LogRead:
    """What came of one log: how many rows, what was found, and where its rows stand in the file."""

    rows: int = 0
    findings: list[Finding] = field(default_factory=list)
    lines: Lines = field(default_factory=lambda: Lines(None, 0))


def read_log(  # noqa: PLR0913, PLR0917 - a log, where it is, where it goes, and how closely it is looked at
    log: Log, files: list[Path], book: Book, warehouse: Warehouse, aside: Path, with_model: bool = True
) -> LogRead:
    """The typed table of one log, made in the warehouse; empty where there is no file or none that can be read.

    ``aside`` is a folder for copies. ``with_model``: the log's pandera model judges it whole; else the same rules are
    asked of its odd rows alone, for a book that was judged whole before. Raises MachineFault.
    """
    if len(files) > 1:
        warehouse.execute(empty(log))
        return LogRead(findings=[_finding(files[0].name, None, None, None, _twice(files))])
    if not files:
        warehouse.execute(empty(log))
        return LogRead()
    source, faults = open_source(log, files[0], book, aside)
    findings = [_finding(files[0].name, f.line, f.column, None, f.refusal) for f in faults]
    if source is None:
        warehouse.execute(empty(log))
        return LogRead(findings=findings)
    return _typed(_Taken(log, source, book.more_words(), warehouse, log.name, with_model), files[0].name, findings)


@dataclass(frozen=True, slots=True)
class _Taken:
    """A log whose file is being taken in: what the steps below share.

    ``more`` holds the words that book.toml adds; ``looked_at`` is the table whose rows get a second look.
    """

    log: Log
    source: Source
    more: dict[str, tuple[str, ...]]
    warehouse: Warehouse
    looked_at: str
    with_model: bool


def _typed(taken: _Taken, file: str, findings: list[Finding]) -> LogRead:
    """Read the table's cells, look again at the odd ones, take out what is wrong, and tell it."""
    log, warehouse = taken.log, taken.warehouse
    taken = replace(taken, source=taken.source.taken_in(warehouse, lambda source: filled(log, source, taken.more)))
    source = taken.source
    (count,) = warehouse.rows(f'SELECT count(*) AS rows, count({ODD}) AS odd FROM "{log.name}"')
    lines = Lines(source.text, count["rows"], source.lines)
    refused = [Fault(row, None, None, refusal) for row, _, refusal in source.faults if row is not None]
    warned, against = list(source.dated_names), []
    if count["odd"]:
        taken = _set_apart(taken, count["rows"])
        refused += [fault for heading in source.headings for fault in _careful(taken, heading)]
        warned += [fault for heading in source.headings for fault in _mangled(taken, heading)]
    if count["odd"] or (taken.with_model and 0 < count["rows"] <= ORDINARY):
        against = _against_rules(taken, count["rows"], refused + warned)
    _take_out(taken, against, refused)
    told = [*refused, *warned, *against]
    placed = lines.of({fault.row for fault in told})
    found = [_finding(file, line, None, None, refusal) for row, line, refusal in source.faults if row is None]
    found += [_finding(file, placed[f.row], f.column, f.typed, f.refusal) for f in told]
    return LogRead(count["rows"], findings + found, lines)


def _set_apart(taken: _Taken, rows: int) -> _Taken:
    """With the odd rows of a long log in a small table of their own, for one scan of it instead of many."""
    if rows <= ORDINARY:
        return taken
    taken.warehouse.execute(f'CREATE TEMP TABLE odd_rows AS FROM "{taken.log.name}" WHERE {ODD} IS NOT NULL')
    return replace(taken, looked_at="odd_rows")


def _careful(taken: _Taken, heading: Heading) -> list[Fault]:
    """Read what the expression left of one column, each text once; put the values in, return what is refused."""
    column = heading.column
    if column is None or column.kind in (Kind.ID, Kind.TEXT, Kind.CHOICE):
        return []
    text = text_of(heading)
    left = f'{ODD} IS NOT NULL AND "{column.field}" IS NULL AND {text} IS NOT NULL'
    asked = f'SELECT DISTINCT {text} AS text FROM "{taken.looked_at}" WHERE {left}'
    texts = [row["text"] for row in taken.warehouse.rows(asked)]
    read = {text: read_cell(text, column, heading.unit, taken.source.manner) for text in texts}
    values = {text: str(value) for text, value in read.items() if not isinstance(value, Refusal)}
    refusals = {text: value for text, value in read.items() if isinstance(value, Refusal)}
    for table in {taken.looked_at, taken.log.name} if values else ():
        taken.warehouse.execute(
            f'UPDATE "{table}" SET "{column.field}" = m.value::{column.stored} FROM (SELECT unnest(?::VARCHAR[]) '
            f"AS text, unnest(?::VARCHAR[]) AS value) AS m WHERE {left} AND {text} = m.text",
            [list(values), list(values.values())],
        )
    if not refusals:
        return []
    found = taken.warehouse.rows(f'SELECT row, {text} AS text FROM "{taken.looked_at}" WHERE {left}')
    return [Fault(r["row"], column.name, r["text"], refusals[r["text"]]) for r in found]


def _mangled(taken: _Taken, heading: Heading) -> list[Fault]:
    """Names that a spreadsheet seems to have changed."""
    if not heading.column or heading.column.kind is not Kind.ID:
        return []
    cell = f'"{heading.column.field}"'
    where = f"{ODD} IS NOT NULL AND regexp_matches({cell}, {quoted(MANGLED)})"
    found = taken.warehouse.rows(f'SELECT row, {cell} AS text FROM "{taken.looked_at}" WHERE {where}')
    return [Fault(r["row"], heading.column.name, r["text"], mangled_told(r["text"])) for r in found]


def _against_rules(taken: _Taken, rows: int, told: list[Fault]) -> list[Fault]:
    """Cells that break a rule of their column, without those of which something was told already."""
    log, known = taken.log, {(fault.row, fault.column) for fault in told}
    columns = {c.field: c for c in log.columns}
    cases = [(row, columns[name], rule, limit) for row, name, rule, limit in _broken(taken, rows)]
    cases = sorted((c for c in cases if (c[0], c[1].name) not in known), key=lambda c: (c[0], c[1].name, c[2]))
    typed = _typed_texts(taken, {(row, column.name) for row, column, rule, _ in cases if rule != "required"})
    faults = []
    for row, column, rule, limit in cases:
        text = typed.get((row, column.name))
        why = required_told(log, column) if rule == "required" else rule_told(column, rule, limit, text)
        faults.append(Fault(row, column.name, text, why))
    return faults


def _broken(taken: _Taken, rows: int) -> list[tuple[int, str, str, object]]:
    """What the log's model finds: on huge logs it is shown only the rows that the same rules in SQL point at."""
    where = ""
    if rows > ORDINARY or not taken.with_model:
        conditions = [breaks(c, f'"{c.field}"', words(c, taken.more)) for c in taken.log.columns]
        where = f"WHERE {' OR '.join(conditions)}"
    named = ", ".join(f'"{c.field}"' for c in taken.log.columns)
    sql = f'SELECT row, {named} FROM "{taken.looked_at}" {where} ORDER BY row'
    if not taken.with_model:
        return list(broken_cells(taken.log, taken.warehouse.rows(sql), taken.more))
    frame = taken.warehouse.frame(sql).set_index("row")
    return [] if frame.empty else broken(model(taken.log, taken.more), frame)


def _typed_texts(taken: _Taken, cells: set[tuple[int, str]]) -> dict[tuple[int, str], str]:
    """The cells as they stand in the file."""
    wanted = {name for _, name in cells}
    headings = [(h.column.name, h) for h in taken.source.headings if h.column and h.column.name in wanted]
    if not headings:
        return {}
    texts = ", ".join(f"{ODD}[{h.cell + 1}] AS {h.raw}" for _, h in headings)
    rows = taken.warehouse.rows(f'SELECT row, {texts} FROM "{taken.looked_at}" WHERE {ODD} IS NOT NULL')
    found = {(r["row"], name): r[f" {h.cell}"] for r in rows for name, h in headings}
    return {cell: found[cell] for cell in cells}


def _take_out(taken: _Taken, against: list[Fault], refused: list[Fault]) -> None:
    """Empty the cells that break a rule, mark the rows in which anything is wrong, drop the passing column."""
    table = f'"{taken.log.name}"'
    emptied: dict[str, list[int]] = {}
    for fault in against:
        if fault.typed is not None and fault.column:
            emptied.setdefault(taken.log.column(fault.column).field, []).append(fault.row)
    wrong = {"bad": sorted({fault.row for fault in (*against, *refused)})}
    for name, rows in (emptied | wrong).items():
        if rows:
            value = "true" if name == "bad" else "NULL"
            sql = f'UPDATE {table} SET "{name}" = {value} WHERE row IN (SELECT unnest(?::INTEGER[]))'
            taken.warehouse.execute(sql, [rows])
    taken.warehouse.execute(f"ALTER TABLE {table} DROP COLUMN {ODD}")


def _twice(files: list[Path]) -> Refusal:
    names = " and ".join(f.name for f in files)
    reason = f"the log is kept in {len(files)} files, {names}, and one was expected; none was read"
    return Refusal("log-twice", reason, "keep the one that is up to date and move the other out of the book")


def _finding(file: str, line: int | None, column: str | None, value: str | None, refusal: Refusal) -> Finding:
    return Finding(file, line, column, value, refusal.rule, severity(refusal.rule), refusal.message, refusal.fix)
