"""One log: its file reading into the warehouse as a typed table, with a finding for all that could not be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from pipeline.book.book_settings import Book
from pipeline.contract.columns import ODD, CellKind, Column, Log
from pipeline.contract.findings import MOST_TOLD, Finding
from pipeline.contract.log_columns import broken_cells, words
from pipeline.contract.pandera_models import broken, model
from pipeline.contract.quantities import Refusal
from pipeline.database.connection import Warehouse, quoted
from pipeline.reading.cell_reader import read_cell
from pipeline.reading.column_limits_sql import breaks, broken_rules
from pipeline.reading.headers import Heading
from pipeline.reading.log_table_sql import empty, filled, text_of
from pipeline.reading.opened_log import LogSource, open_source
from pipeline.reading.reading_rule_sentences import (
    MANGLED,
    counted_told,
    is_mangled,
    mangled_told,
    required_told,
    rule_told,
    severity,
)
from pipeline.reading.row_faults import Fault, RowFaults

ORDINARY = 20_000
"""Up to so many rows pandera checks a log whole; on larger ones it explains what the same rules in SQL point at."""


SHOWN = 20_000
"""So many broken rows of a larger log are explained; the rest are counted."""
_MOST_TEXTS = 200_000
"""So many different texts of one column are read one by one; a log with more of them is none."""
_UNREAD = Refusal(
    "number-form", "the cell was not read, as too many before it are not plain", "look at the first of them"
)


@dataclass(frozen=True, slots=True)
class LogRead:
    """What came of one log: how many rows, what was found, and the physical line on which each row begins."""

    rows: int = 0
    findings: list[Finding] = field(default_factory=list)
    lines: Sequence[int] = ()


def read_log(  # noqa: PLR0913, PLR0917 - a log, where it is, where it goes, and how closely it is looked at
    log: Log, files: list[Path], book: Book, warehouse: Warehouse, aside: Path, judged: bool = False
) -> LogRead:
    """The typed table of one log, made in the warehouse; empty where there is no file or none that can be read.

    ``aside`` is a folder for copies. ``judged``: the log was judged by its pandera model whole, but for rows that came since;
    else it is now. Of a log that was the same rules are asked, of odd rows alone. Raises MachineFault.
    """
    if not files:
        warehouse.execute(empty(log))
        return LogRead()
    source, of_file, of_rows = open_source(log, files, book, aside)
    findings = [_finding(files[0].name, f.line, f.column, None, f.refusal) for f in of_file]
    if source is None:
        warehouse.execute(empty(log))
        return LogRead(findings=findings)
    source = source.with_marks(warehouse, book.decimal)
    reading = _Reading(log, source, book.more_words(), warehouse, of_rows, log.name, judged)
    rows = _typed(reading)
    return LogRead(rows, [*findings, *_told(files[0].name, reading)], reading.source.file.lines)


@dataclass(frozen=True, slots=True)
class _Reading:
    """A log whose file is being read: what the steps below share.

    ``more`` holds the words that book.toml adds; ``table`` is the table whose rows get a second look.
    """

    log: Log
    source: LogSource
    more: dict[str, tuple[str, ...]]
    warehouse: Warehouse
    faults: RowFaults
    table: str
    judged: bool


def _typed(reading: _Reading) -> int:
    """Read the table's cells, look again at the odd ones, take out what is wrong; how many rows there are."""
    log, warehouse = reading.log, reading.warehouse
    warehouse.execute(filled(log, reading.source, reading.more), [reading.source.path])
    (count,) = warehouse.rows(f'SELECT count(*) AS rows, count({ODD}) AS odd FROM "{log.name}"')
    spoiled = _spoiled(reading)
    if count["odd"]:
        reading = _set_apart(reading, count["rows"])
        for heading in reading.source.headings:
            _careful(reading, heading, spoiled)
            _mangled(reading, heading)
    if count["odd"] or (not reading.judged and 0 < count["rows"] <= ORDINARY):
        _against_rules(reading, count["rows"], spoiled)
    return int(count["rows"])


def _told(file: str, reading: _Reading) -> Iterator[Finding]:
    """The faults of rows as findings, with the lines of the file."""
    lines, faults = reading.source.file.lines, reading.faults
    for fault in faults.told:
        yield _finding(file, lines[fault.row - 1], fault.column, fault.typed, fault.refusal)
    for beyond in faults.beyond():
        rule, column = beyond.kind
        first, last = lines[faults.last_told(beyond.kind) - 1], lines[beyond.last_row - 1]
        yield _finding(file, last, column, None, counted_told(rule, beyond.count, first, last))


def _spoiled(reading: _Reading) -> set[int]:
    """The rows that are no use as they stand in the file, marked as such."""
    rows = list(reading.faults.rows)
    if rows:
        marked = f'UPDATE "{reading.log.name}" SET bad = true WHERE row IN (SELECT unnest(?::INTEGER[]))'
        reading.warehouse.execute(marked, [rows])
    return set(rows)


def _set_apart(reading: _Reading, rows: int) -> _Reading:
    """With the odd rows of a long log in a small table of their own, for one scan of it instead of many."""
    if rows <= ORDINARY:
        return reading
    reading.warehouse.execute(
        f'CREATE OR REPLACE TEMP TABLE odd_rows AS FROM "{reading.log.name}" WHERE {ODD} IS NOT NULL'
    )
    return replace(reading, table="odd_rows")


def _careful(reading: _Reading, heading: Heading, spoiled: set[int]) -> None:
    """Read what the expression left of one column, each text once; put the values in, tell what is refused."""
    column = heading.column
    if column is None or column.kind in (CellKind.ID, CellKind.TEXT, CellKind.CHOICE):
        return
    text = text_of(heading)
    left = f'{ODD} IS NOT NULL AND "{column.field}" IS NULL AND {text} IS NOT NULL'
    asked = f'SELECT DISTINCT {text} AS text FROM "{reading.table}" WHERE {left} LIMIT {_MOST_TEXTS}'
    texts = [row["text"] for row in reading.warehouse.rows(asked)]
    read = {text: read_cell(text, column, heading.unit, reading.source.how) for text in texts}
    values = {text: str(value) for text, value in read.items() if not isinstance(value, Refusal)}
    for table in {reading.table, reading.log.name} if values else ():
        reading.warehouse.execute(
            f'UPDATE "{table}" SET "{column.field}" = m.value::{column.stored} FROM (SELECT unnest(?::VARCHAR[]) '
            f"AS text, unnest(?::VARCHAR[]) AS value) AS m WHERE {left} AND {text} = m.text",
            [list(values), list(values.values())],
        )
    refused = {text: value for text, value in read.items() if isinstance(value, Refusal)}
    if refused:
        _tell_refused(
            reading, column, f'SELECT row, {text} AS text FROM "{reading.table}" WHERE {left}', refused, spoiled
        )


def _tell_refused(
    reading: _Reading, column: Column, cells: str, refused: dict[str, Refusal], spoiled: set[int]
) -> None:
    """Tell the cells that are refused, of each rule so many as anybody reads, and mark their rows."""
    rules = "SELECT unnest(?::VARCHAR[]) AS text, unnest(?::VARCHAR[]) AS rule"
    found = reading.warehouse.rows(
        f"SELECT row, text, row_number() OVER one AS n, count(*) OVER (PARTITION BY rule) AS all_n "
        f"FROM ({cells}) LEFT JOIN ({rules}) USING (text) "
        f"WINDOW one AS (PARTITION BY rule ORDER BY row) QUALIFY n <= {MOST_TOLD} OR n = all_n ORDER BY row",
        [list(refused), [refusal.rule for refusal in refused.values()]],
    )
    for cell in found:
        refusal = refused.get(cell["text"], _UNREAD)
        if cell["n"] > MOST_TOLD:
            reading.faults.count((refusal.rule, column.name), cell["all_n"] - MOST_TOLD, cell["row"])
        elif cell["row"] not in spoiled:
            reading.faults.add(Fault(cell["row"], column.name, cell["text"], refusal))
    bad = f"SELECT row FROM ({cells})"
    reading.warehouse.execute(f'UPDATE "{reading.log.name}" SET bad = true WHERE row IN ({bad})')


def _mangled(reading: _Reading, heading: Heading) -> None:
    """Names that a spreadsheet seems to have changed: one cause, told once for a column."""
    if not heading.column or heading.column.kind is not CellKind.ID:
        return
    cell = f'"{heading.column.field}"'
    where = f"{ODD} IS NOT NULL AND regexp_matches({cell}, {quoted(MANGLED)})"
    found = reading.warehouse.rows(f'SELECT row, {cell} AS text FROM "{reading.table}" WHERE {where} ORDER BY row')
    if found:
        lines = [reading.source.file.lines[r["row"] - 1] for r in found]
        why = mangled_told(list(dict.fromkeys(r["text"] for r in found)), lines)
        reading.faults.add(Fault(found[0]["row"], heading.column.name, found[0]["text"], why))


def _against_rules(reading: _Reading, rows: int, spoiled: set[int]) -> None:
    """Tell the cells that break a rule of their column, empty them and mark their rows."""
    columns = {c.field: c for c in reading.log.columns}
    found, is_cut = _broken(reading, rows)
    cases = sorted(((row, columns[name], rule, limit) for row, name, rule, limit in found), key=_in_order)
    typed = _typed_texts(reading, {(row, column.name) for row, column, _, _ in cases})
    emptied: dict[str, list[int]] = {}
    for row, column, rule, limit in cases:
        text = typed.get((row, column.name))
        told_already = row in spoiled or (rule == "required" and text) or (rule == "id-form" and is_mangled(text or ""))
        if told_already:
            continue
        why = required_told(reading.log, column) if rule == "required" else rule_told(column, rule, limit, text)
        reading.faults.add(Fault(row, column.name, text, why))
        emptied.setdefault(column.field, []).append(row)
    _take_out(reading, emptied)
    if is_cut:
        _count_the_rest(reading)


def _take_out(reading: _Reading, emptied: dict[str, list[int]]) -> None:
    """Empty cells by their column and rows, and mark those rows."""
    for name, rows in emptied.items():
        taken_out = f'UPDATE "{reading.log.name}" SET "{name}" = NULL, bad = true'
        reading.warehouse.execute(f"{taken_out} WHERE row IN (SELECT unnest(?::INTEGER[]))", [rows])


def _in_order(case: tuple[int, Column, str, object]) -> tuple[int, str, str]:
    return case[0], case[1].name, case[2]


def _broken(reading: _Reading, rows: int) -> tuple[list[tuple[int, str, str, object]], bool]:
    """What the log's model finds, and whether that is not all.

    Of a huge log the model is shown only the rows that the same rules in SQL point at, and of those no more than a log
    of ordinary length has.
    """
    where, columns = "", reading.log.columns
    if rows > ORDINARY or reading.judged:
        conditions = [breaks(c, f'"{c.field}"', words(c, reading.more)) for c in reading.log.columns]
        where = f"WHERE {' OR '.join(conditions)}"
    else:  # a column that the file does not have holds nothing; without one that every row needs, no row is read
        has = {heading.column for heading in reading.source.headings}
        columns = tuple(c for c in columns if c in has)
    named = ", ".join(f'"{c.field}"' for c in columns)
    sql = f'SELECT row, {named} FROM "{reading.table}" {where} ORDER BY row LIMIT {max(ORDINARY, SHOWN) + 1}'
    if reading.judged:
        broken_rows = reading.warehouse.rows(sql)
        return list(broken_cells(reading.log, broken_rows, reading.more)), len(broken_rows) > max(ORDINARY, SHOWN)
    frame = reading.warehouse.frame(sql).set_index("row")
    found = [] if frame.empty else broken(model(reading.log, reading.more, columns), frame)
    return found, len(frame) > max(ORDINARY, SHOWN)


def _count_the_rest(reading: _Reading) -> None:
    """Count, empty and mark the cells that break rules beyond those that the model was shown."""
    places = {h.column.name: h for h in reading.source.headings if h.column}
    for column in reading.log.columns:
        field = f'"{column.field}"'
        for rule, condition in broken_rules(column, field, words(column, reading.more)).items():
            place = places.get(column.name)
            empty_too = f"({condition}) AND {text_of(place)} IS NULL" if place and rule == "required" else condition
            asked = f'SELECT count(*) AS n, max(row) AS last FROM "{reading.table}" WHERE {empty_too}'
            (found,) = reading.warehouse.rows(asked)
            kind = (rule, column.name)
            more = found["n"] - reading.faults.how_many_told(kind) - reading.faults.how_many_counted(kind)
            if more > 0:
                reading.faults.count(kind, more, found["last"])
                taken_out = f'UPDATE "{reading.log.name}" SET {field} = NULL, bad = true WHERE row IN '
                reading.warehouse.execute(f'{taken_out} (SELECT row FROM "{reading.table}" WHERE {condition})')


def _typed_texts(reading: _Reading, cells: set[tuple[int, str]]) -> dict[tuple[int, str], str]:
    """The cells as they stand in the file."""
    wanted = {name for _, name in cells}
    headings = [(h.column.name, h) for h in reading.source.headings if h.column and h.column.name in wanted]
    if not headings:
        return {}
    texts = ", ".join(f"{ODD}[{h.cell + 1}] AS {h.raw}" for _, h in headings)
    wanted_rows = f"{ODD} IS NOT NULL AND row IN (SELECT unnest(?::INTEGER[]))"
    asked = f'SELECT row, {texts} FROM "{reading.table}" WHERE {wanted_rows}'
    rows = reading.warehouse.rows(asked, [sorted({row for row, _ in cells})])
    found = {(r["row"], name): r[f" {h.cell}"] for r in rows for name, h in headings}
    return {cell: found[cell] for cell in cells}


def _finding(file: str, line: int | None, column: str | None, value: str | None, refusal: Refusal) -> Finding:
    return Finding(file, line, column, value, refusal.rule, severity(refusal.rule), refusal.message, refusal.fix)
