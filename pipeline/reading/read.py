"""One log: its file taken into the warehouse as a typed table, with a finding for all that could not be read."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from pipeline.book import Book
from pipeline.columns import Kind, Log
from pipeline.findings import Finding
from pipeline.logs import broken, model, words
from pipeline.quantities import Refusal
from pipeline.reading.cells import fast
from pipeline.reading.hand import read_cell
from pipeline.reading.headers import Heading
from pipeline.reading.lines import Lines
from pipeline.reading.predicates import as_predicates
from pipeline.reading.rules import MANGLED, mangled_told, required_told, rule_told, severity
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
    return _typed(_Taken(log, source, book, warehouse), files[0].name, findings)


@dataclass(frozen=True, slots=True)
class _Taken:
    """A log whose file is being taken in: what the steps below share."""

    log: Log
    source: Source
    book: Book
    warehouse: Warehouse

    @property
    def left(self) -> list[Heading]:
        """The columns whose cells may not all be plain."""
        return [h for h in self.source.headings if h.column and h.column.kind not in _WORDS]


def _typed(taken: _Taken, file: str, findings: list[Finding]) -> LogRead:
    """Read the table's cells, check them, take out what is wrong, and tell it."""
    log, warehouse = taken.log, taken.warehouse
    taken = replace(taken, source=taken.source.taken_in(warehouse, lambda s: _table(replace(taken, source=s))))
    source = taken.source
    rows = int(warehouse.rows(f'SELECT count(*) AS n FROM "{log.name}"')[0]["n"])
    lines = Lines(source.text, rows, source.lines)
    crooked = [Fault(row, None, None, refusal) for row, _, refusal in source.faults if row is not None]
    refused = [*crooked, *(fault for heading in taken.left for fault in _careful(taken, heading))]
    warned = [*source.dated_names, *(f for h in source.headings for f in _mangled(taken, h))]
    against = _against_rules(taken, rows, refused + warned)
    _take_out(taken, against, refused)
    told = [*refused, *warned, *against]
    placed = lines.of({fault.row for fault in told})
    found = [_finding(file, line, None, None, refusal) for row, line, refusal in source.faults if row is None]
    found += [_finding(file, placed[f.row], f.column, f.typed, f.refusal) for f in told]
    return LogRead(rows, findings + found, lines)


_WORDS = frozenset({Kind.ID, Kind.TEXT, Kind.CHOICE})


def _left(heading: Heading) -> str:
    """The passing column that keeps the text of cells which the expressions could not read.

    It begins with a space, as no heading does.
    """
    return f" {heading.cell}"


def _empty(log: Log) -> str:
    cells = ", ".join(f'"{c.field}" {c.stored}' for c in log.columns)
    return f'CREATE OR REPLACE TABLE "{log.name}" (row INTEGER, {cells}, bad BOOLEAN)'


def _table(taken: _Taken) -> str:
    """The statement that reads the file once: values where plain, text where not."""
    headings, left = taken.source.headings, taken.left
    values = _values(taken)
    others = [h for h in headings if not h.column]
    inner = [f"{value} AS {_name(name)}" for name, value in values.items()]
    inner += [f"c{h.cell} AS {_name(h.field)}" for h in others] + [f"c{h.cell}" for h in left]
    outer = [_name(name) for name in (*values, *(h.field for h in others))]
    texts = [
        f"CASE WHEN {_name(h.field)} IS NULL THEN nullif(trim(c{h.cell}), '') END AS {_name(_left(h))}" for h in left
    ]
    return (
        f"CREATE OR REPLACE TABLE {_name(taken.log.name)} AS "
        f"SELECT {', '.join(['row', *outer, 'false AS bad', *texts])} "
        f"FROM (SELECT {', '.join(['row', *inner])} FROM ({taken.source.records()}))"
    )


def _values(taken: _Taken) -> dict[str, str]:
    """The expression of each column of the log by its field; NULL for those not in the file."""
    by_name = {h.column.name: h for h in taken.source.headings if h.column}
    more = taken.book.more_words()
    values = {}
    for column in taken.log.columns:
        heading = by_name.get(column.name)
        value = "NULL"
        if heading:
            cell = f"c{heading.cell}"
            value = fast(column, heading.unit, cell, taken.source.manner, words(column, more))
            value = f"nullif({value}, '')" if column.kind in _WORDS else value
        values[column.field] = f"({value})::{column.stored}"
    return values


def _name(field_name: str) -> str:
    return '"' + field_name.replace('"', '""') + '"'


def _careful(taken: _Taken, heading: Heading) -> list[Fault]:
    """Read what the expression left of one column, each text once; put the values in, return what is refused."""
    assert heading.column is not None
    log, warehouse, column, left = taken.log, taken.warehouse, heading.column, _left(heading)
    asked = f'SELECT DISTINCT "{left}" AS text FROM "{log.name}" WHERE "{left}" IS NOT NULL'
    texts = [row["text"] for row in warehouse.rows(asked)]
    read = {text: read_cell(text, column, heading.unit, taken.source.manner) for text in texts}
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


def _mangled(taken: _Taken, heading: Heading) -> list[Fault]:
    """Names that a spreadsheet seems to have changed."""
    if not heading.column or heading.column.kind is not Kind.ID:
        return []
    cell = f'"{heading.column.field}"'
    where = f"regexp_matches({cell}, {quoted(MANGLED)})"
    found = taken.warehouse.rows(f'SELECT row, {cell} AS text FROM "{taken.log.name}" WHERE {where}')
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
    if not rows:
        return []
    schema = model(taken.log, taken.book.more_words())
    named = ", ".join(f'"{c.field}"' for c in taken.log.columns)
    table, where = f'"{taken.log.name}"', ""
    if rows > ORDINARY:
        where = f"WHERE {' OR '.join(f'({predicate})' for predicate in as_predicates(schema).values())}"
    sql = f"SELECT row, {named} FROM {table} {where} ORDER BY row"
    frame = taken.warehouse.frame(sql).set_index("row")
    return [] if frame.empty else broken(schema, frame)


def _typed_texts(taken: _Taken, cells: set[tuple[int, str]]) -> dict[tuple[int, str], str]:
    """The cells as they stand in the file, from a second look at it."""
    if not cells:
        return {}
    columns = {name for _, name in cells}
    headings = [h for h in taken.source.headings if h.column and h.column.name in columns]
    texts = ", ".join(f"c{h.cell}" for h in headings)
    wanted = sorted({row for row, _ in cells})
    sql = f"SELECT row, {texts} FROM ({taken.source.records()}) WHERE row IN (SELECT unnest(?::INTEGER[]))"
    found = {r["row"]: r for r in taken.warehouse.rows(sql, [wanted])}
    return {(row, h.column.name): found[row][f"c{h.cell}"] for row in wanted for h in headings if h.column}


def _take_out(taken: _Taken, against: list[Fault], refused: list[Fault]) -> None:
    """Empty the cells that break a rule, mark the rows in which anything is wrong, drop the passing columns."""
    table, left = f'"{taken.log.name}"', [f'"{_left(heading)}"' for heading in taken.left]
    bad = sorted({fault.row for fault in (*against, *refused)})
    if not bad:
        for column in left:
            taken.warehouse.execute(f"ALTER TABLE {table} DROP COLUMN {column}")
        return
    emptied, masks = _masks(taken.log, bad, against)
    cells = [f'CASE WHEN " mask" & {1 << n} = 0 THEN "{f}" END AS "{f}"' for n, f in enumerate(emptied)]
    cells.append('" mask" > 0 AS bad')
    gone = ", ".join([*left, '" row"', '" mask"'])
    marks = 'SELECT unnest(?::INTEGER[]) AS " row", unnest(?::INTEGER[]) AS " mask"'
    marked = f'SELECT * REPLACE (coalesce(" mask", 0) AS " mask") FROM {table} LEFT JOIN ({marks}) ON row = " row"'
    taken.warehouse.execute(
        f"CREATE OR REPLACE TABLE {table} AS SELECT * EXCLUDE ({gone}) REPLACE ({', '.join(cells)}) FROM ({marked})",
        [bad, masks],
    )


def _masks(log: Log, bad: list[int], against: list[Fault]) -> tuple[list[str], list[int]]:
    """Which fields have cells to be emptied, and for each bad row the sum of 2**n over its n-th fields, and more."""
    cells = {(fault.row, fault.column) for fault in against if fault.typed is not None}
    names = {name for _, name in cells}
    emptied = [c for c in log.columns if c.name in names]
    always = 1 << len(emptied)
    masks = [always + sum(1 << n for n, c in enumerate(emptied) if (row, c.name) in cells) for row in bad]
    return [c.field for c in emptied], masks


def _twice(files: list[Path]) -> Refusal:
    names = " and ".join(f.name for f in files)
    reason = f"the log is kept in {len(files)} files, {names}, and one was expected; none was read"
    return Refusal("log-twice", reason, "keep the one that is up to date and move the other out of the book")


def _finding(file: str, line: int | None, column: str | None, value: str | None, refusal: Refusal) -> Finding:
    return Finding(file, line, column, value, refusal.rule, severity(refusal.rule), refusal.message, refusal.fix)
