"""One log: its file taken into the warehouse as a typed table, with a finding for all that could not be read."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from pipeline.book import Book
from pipeline.columns import Kind, Log
from pipeline.findings import Finding, Severity
from pipeline.logs import as_predicates, broken, model, words
from pipeline.quantities import Refusal
from pipeline.reading.cells import fast, read_cell
from pipeline.reading.headers import Heading
from pipeline.reading.lines import Lines
from pipeline.reading.rules import MANGLED, NOTES, WARNINGS, mangled_told, rule_told
from pipeline.reading.source import Fault, Source, open_source
from pipeline.warehouse import Warehouse, quoted

ORDINARY = 20_000
"""Up to so many rows pandera checks a log whole; on larger ones it explains what the same rules in SQL point at."""


@dataclass(frozen=True, slots=True)
class LogRead:
    """What came of one log: how many rows, what was found, and where its rows stand in the file."""

    rows: int = 0
    findings: list[Finding] = field(default_factory=list)
    lines: Lines = field(default_factory=lambda: Lines(None, 0))


def read_log(log: Log, files: list[Path], book: Book, warehouse: Warehouse, aside: Path) -> LogRead:
    """The typed table of one log, made in the warehouse; empty where there is no file or none that can be read.

    ``aside`` is a folder for copies. Raises MachineFault.
    """
    if len(files) > 1:
        warehouse.execute(_empty(log))
        return LogRead(findings=[_finding(files[0].name, None, None, None, _twice(files))])
    if not files:
        warehouse.execute(_empty(log))
        return LogRead()
    source, faults = open_source(log, files[0], book, aside)
    findings = [_finding(files[0].name, f.line, f.column, None, f.refusal) for f in faults]
    if source is None:
        warehouse.execute(_empty(log))
        return LogRead(findings=findings)
    return _typed(log, source, book, warehouse, files[0].name, findings)


def _typed(
    log: Log, source: Source, book: Book, warehouse: Warehouse, file: str, findings: list[Finding]
) -> LogRead:
    """Read the table's cells, check them, take out what is wrong, and tell it."""
    left = [h for h in source.headings if h.column and h.column.kind not in _WORDS]
    source = source.taken_in(warehouse, lambda s: _table(log, s, left, book))
    rows = int(warehouse.rows(f'SELECT count(*) AS n FROM "{log.name}"')[0]["n"])
    lines = Lines(source.text, rows, source.lines)
    faults = [Fault(row, None, None, refusal) for row, _, refusal in source.faults if row is not None]
    findings = findings + [_finding(file, line, None, None, r) for row, line, r in source.faults if row is None]
    refused = [fault for heading in left for fault in _careful(log, source, heading, warehouse)]
    warned = [fault for heading in source.headings for fault in _mangled(log, heading, warehouse)]
    warned += source.dated_names
    against = _against_rules(log, source, book, warehouse, rows, refused + warned)
    _take_out(log, warehouse, against, [*faults, *refused])
    for heading in left:
        warehouse.execute(f'ALTER TABLE "{log.name}" DROP COLUMN "{_left(heading)}"')
    told = [*faults, *refused, *warned, *against]
    placed = lines.of({fault.row for fault in told})
    findings = findings + [_finding(file, placed[f.row], f.column, f.typed, f.refusal) for f in told]
    return LogRead(rows, findings, lines)


_WORDS = frozenset({Kind.ID, Kind.TEXT, Kind.CHOICE})


def _left(heading: Heading) -> str:
    """The passing column that keeps the text of cells which the expressions could not read."""
    return f"left {heading.cell}"


def _empty(log: Log) -> str:
    cells = ", ".join(f'"{c.field}" {c.stored}' for c in log.columns)
    return f'CREATE OR REPLACE TABLE "{log.name}" (row INTEGER, {cells}, bad BOOLEAN)'


def _table(log: Log, source: Source, left: list[Heading], book: Book) -> str:
    """The statement that reads the file once: values where plain, text where not."""
    by_name = {h.column.name: h for h in source.headings if h.column}
    cells = []
    for column in log.columns:
        heading = by_name.get(column.name)
        value = "NULL"
        if heading:
            value = fast(column, heading.unit, f"c{heading.cell}", source.manner, words(column, book.more_words()))
            value = f"nullif({value}, '')" if column.kind in _WORDS else value
        cells.append(f'({value})::{column.stored} AS "{column.field}"')
    others = [h for h in source.headings if not h.column]
    cells += [f"c{h.cell} AS {_name(h.field)}" for h in others]
    kept = [f'"{c.field}"' for c in log.columns] + [_name(h.field) for h in others]
    texts = [f'CASE WHEN {_name(h.field)} IS NULL THEN nullif(trim(c{h.cell}), \'\') END AS "{_left(h)}"' for h in left]
    needed = ", ".join(["row", *cells, *(f"c{h.cell}" for h in left)])
    return (
        f'CREATE OR REPLACE TABLE "{log.name}" AS SELECT {", ".join(["row", *kept, "false AS bad", *texts])} '
        f"FROM (SELECT {needed} FROM ({source.records()}))"
    )


def _name(field_name: str) -> str:
    return '"' + field_name.replace('"', '""') + '"'


def _careful(log: Log, source: Source, heading: Heading, warehouse: Warehouse) -> list[Fault]:
    """Read what the expression left of one column, each text once; put the values in, return what is refused."""
    assert heading.column is not None
    column, left = heading.column, _left(heading)
    asked = f'SELECT DISTINCT "{left}" AS text FROM "{log.name}" WHERE "{left}" IS NOT NULL'
    read = {r["text"]: read_cell(r["text"], column, heading.unit, source.manner) for r in warehouse.rows(asked)}
    values = {text: str(value) for text, value in read.items() if not isinstance(value, Refusal)}
    refusals = {text: value for text, value in read.items() if isinstance(value, Refusal)}
    if values:
        warehouse.execute(
            f'UPDATE "{log.name}" SET "{column.field}" = m.value::{column.stored} FROM (SELECT unnest(?::VARCHAR[]) '
            f'AS text, unnest(?::VARCHAR[]) AS value) AS m WHERE "{left}" = m.text',
            [list(values), list(values.values())],
        )
    if not refusals:
        return []
    where = f'"{left}" IN (SELECT unnest(?::VARCHAR[]))'
    found = warehouse.rows(f'SELECT row, "{left}" AS text FROM "{log.name}" WHERE {where}', [list(refusals)])
    return [Fault(r["row"], column.name, r["text"], refusals[r["text"]]) for r in found]


def _mangled(log: Log, heading: Heading, warehouse: Warehouse) -> list[Fault]:
    if not heading.column or heading.column.kind is not Kind.ID:
        return []
    cell = f'"{heading.column.field}"'
    where = f"regexp_matches({cell}, {quoted(MANGLED)})"
    found = warehouse.rows(f'SELECT row, {cell} AS text FROM "{log.name}" WHERE {where}')
    return [Fault(r["row"], heading.column.name, r["text"], mangled_told(r["text"])) for r in found]


def _against_rules(
    log: Log, source: Source, book: Book, warehouse: Warehouse, rows: int, told: list[Fault]
) -> list[Fault]:
    """Cells that break a rule of their column, those left away of which something was told already."""
    schema = model(log, book.more_words())
    named = ", ".join(f'"{c.field}"' for c in log.columns)
    where = "" if rows <= ORDINARY else " WHERE " + " OR ".join(as_predicates(schema).values())
    frame = warehouse.frame(f'SELECT row, {named} FROM "{log.name}"{where} ORDER BY row').set_index("row")
    cases = broken(schema, frame)
    known = {(fault.row, fault.column) for fault in told}
    by_field = {c.field: c for c in log.columns}
    cases = [case for case in cases if (case[0], by_field[case[1]].name) not in known]
    typed = _typed_texts(source, warehouse, {(row, by_field[f].name) for row, f, rule, _ in cases if rule != "required"})
    told_of = []
    for row, field_name, rule, limit in sorted(cases, key=lambda case: case[:3]):
        column = by_field[field_name]
        text = typed.get((row, column.name))
        told_of.append(Fault(row, column.name, text, rule_told(log, column, rule, limit, text)))
    return told_of


def _typed_texts(source: Source, warehouse: Warehouse, cells: set[tuple[int, str]]) -> dict[tuple[int, str], str]:
    """The cells as they stand in the file, from a second look at it."""
    if not cells:
        return {}
    columns = {name for _, name in cells}
    headings = [h for h in source.headings if h.column and h.column.name in columns]
    texts = ", ".join(f"c{h.cell}" for h in headings)
    wanted = sorted({row for row, _ in cells})
    sql = f"SELECT row, {texts} FROM ({source.records()}) WHERE row IN (SELECT unnest(?::INTEGER[]))"
    found = {r["row"]: r for r in warehouse.rows(sql, [wanted])}
    return {(row, h.column.name): found[row][f"c{h.cell}"] for row in wanted for h in headings if h.column}


def _take_out(log: Log, warehouse: Warehouse, broken_cells: list[Fault], others: list[Fault]) -> None:
    """Empty the cells that break a rule, and mark the rows in which anything is wrong."""
    for column in log.columns:
        rows = [fault.row for fault in broken_cells if fault.column == column.name and fault.typed is not None]
        if rows:
            where = "row IN (SELECT unnest(?::INTEGER[]))"
            warehouse.execute(f'UPDATE "{log.name}" SET "{column.field}" = NULL WHERE {where}', [rows])
    bad = sorted({fault.row for fault in (*broken_cells, *others)})
    if bad:
        warehouse.execute(f'UPDATE "{log.name}" SET bad = true WHERE row IN (SELECT unnest(?::INTEGER[]))', [bad])


def _twice(files: list[Path]) -> Refusal:
    names = " and ".join(f.name for f in files)
    reason = f"the log is kept in {len(files)} files, {names}, and one was expected; none was read"
    return Refusal("log-twice", reason, "keep the one that is up to date and move the other out of the book")


def _finding(file: str, line: int | None, column: str | None, value: str | None, refusal: Refusal) -> Finding:
    severity = Severity.NOTE if refusal.rule in NOTES else Severity.ERROR
    severity = Severity.WARNING if refusal.rule in WARNINGS else severity
    return Finding(file, line, column, value, refusal.rule, severity, refusal.message, refusal.fix)
