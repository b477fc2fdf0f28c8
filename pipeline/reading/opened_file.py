"""A log's file opened: its header understood, and the SELECT that gives its records as text."""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pipeline.book.book_folder import SHEETS, Book
from pipeline.contract.columns import Kind, Log
from pipeline.contract.quantities import Marks, Refusal
from pipeline.database.connection import Warehouse, quoted
from pipeline.reading import dialect, spreadsheets
from pipeline.reading.cell_reader import NUMERIC, Manner
from pipeline.reading.headers import HeaderFault, Heading, headings, known_names
from pipeline.reading.reading_rules import mangled_told
from pipeline.reading.tidied_file import Tidied, records_of, tidy

_COMMA_SHOWN = r"[0-9],[0-9]"
_DOT_SHOWN = r"(^|[^0-9.,])(0[0-9]*\.[0-9]+|[0-9]{4,}\.[0-9]+|[0-9]*\.([0-9]{1,2}|[0-9]{4,}))([^0-9.,]|$)"
_DOT_ANY = r"[0-9]\.[0-9]"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with one cell of a row; ``column`` None: with the row as a whole."""

    row: int
    column: str | None
    typed: str | None
    refusal: Refusal


@dataclass(frozen=True, slots=True)
class FileFault:
    """Something about a file or its header: the line (None: the whole file), the column that it is about."""

    line: int | None
    column: str | None
    refusal: Refusal


@dataclass(frozen=True, slots=True)
class Source:
    """A file whose header is understood.

    ``path`` is the CSV that the database reads, ``skip`` the lines before its data. ``text`` and ``lines`` say
    where rows stand in the file itself; ``faults`` are (row or None, line, refusal) of rows that had to be put in order.
    ``dated_names`` are names that the sheet holds as dates.
    """

    headings: list[Heading]
    manner: Manner
    path: Path
    separator: str
    skip: int
    text: dialect.Text | None
    aside: Path
    lines: array[int] | None = None
    faults: tuple[tuple[int | None, int, Refusal], ...] = ()
    dated_names: tuple[Fault, ...] = ()

    def records(self) -> str:
        """The SELECT of the records that hold anything: ``row`` (1 = first) and each cell's text, named as its heading's."""
        names = [h.raw for h in self.headings]
        columns = ", ".join(f"{name}: 'VARCHAR'" for name in names)
        path = re.sub(r"([\[*?])", r"[\1]", str(self.path))
        every = ", ".join(names)
        # most rows begin with a plain sign, which says that they hold something; the cells of others are put together
        return (
            f"SELECT (row_number() OVER ())::INTEGER AS row, * FROM (SELECT * FROM read_csv({quoted(path)}, "
            f"auto_detect = false, columns = {{{columns}}}, delim = {quoted(self.separator)}, quote = '\"', "
            f"escape = '\"', header = false, skip = {self.skip}, new_line = '\\n') "
            f"WHERE {names[0]} BETWEEN '!' AND '~' OR trim(concat({every})) <> '')"
        )

    def taken_in(self, warehouse: Warehouse, statement: Callable[[Source], str]) -> Source:
        """Run the statement made for this source, putting the file in order first where that is needed."""
        if self.skip == 0 or (self.text and self.text.simple):
            marked = self._marked(warehouse)
            if marked and warehouse.takes_in(statement(marked)):
                return marked
        ordered = self._tidied()
        ordered = ordered._marked(warehouse) or ordered
        warehouse.execute(statement(ordered))
        return ordered

    def _tidied(self) -> Source:
        assert self.text is not None
        path = self.aside / f"{self.text.original.stem}.tidy"
        tidied = tidy(records_of(self.text), len(self.headings), path)
        return replace(self, path=path, separator=",", skip=0, lines=tidied.lines, faults=tuple(tidied.faults))

    def _marked(self, warehouse: Warehouse) -> Source | None:
        """With what comma and dot mean here, asked of all numbers of a semicolon or tab file; None: not readable."""
        numbers = [h.raw for h in self.headings if h.column and h.column.kind in NUMERIC]
        mark = self.text.separator if self.text else ","
        if mark == "," or not numbers:
            return self
        shown = ", ".join(
            f"coalesce(bool_or({' OR '.join(f'regexp_matches({n}, {quoted(form)})' for n in numbers)}), false) AS {name}"
            for name, form in (("comma", _COMMA_SHOWN), ("dot", _DOT_SHOWN), ("any_dot", _DOT_ANY))
        )
        if not warehouse.takes_in(
            f"CREATE OR REPLACE TEMP TABLE marks_shown AS SELECT {shown} FROM ({self.records()})"
        ):
            return None
        (seen,) = warehouse.rows("SELECT * FROM marks_shown")
        warehouse.execute("DROP TABLE marks_shown")
        return replace(self, manner=replace(self.manner, marks=_marks(mark, **seen)))


def _marks(separator: str, comma: bool, dot: bool, any_dot: bool) -> Marks:
    """Semicolons go with decimal commas; tabs with either, so that there any dot without a comma is decimal."""
    if comma:
        return Marks.BOTH if dot else Marks.COMMA
    return Marks.DOT if dot or (separator == "\t" and any_dot) else Marks.COMMA


def open_source(log: Log, file: Path, book: Book, aside: Path) -> tuple[Source | None, list[FileFault]]:
    """The log's file with its header understood, or None; and what is to be said of the file as a whole."""
    manner = Manner(dates=book.dates)
    if file.suffix.lower() in SHEETS:
        return _open_sheet(log, file, manner, aside)
    text, refusals = dialect.look(file, lambda cells: known_names(log, cells), aside)
    faults = [FileFault(None, None, refusal) for refusal in refusals]
    if text is None or not text.header:
        return None, faults
    made, wrong = headings(log, text.header)
    faults += _file_faults(wrong, text.header_line)
    if any(not fault.note for fault in wrong):
        return None, faults
    return Source(made, manner, text.path, text.separator, text.header_line, text, aside), faults


def _open_sheet(log: Log, file: Path, manner: Manner, aside: Path) -> tuple[Source | None, list[FileFault]]:
    rows = spreadsheets.sheet_rows(file, log.name)
    if isinstance(rows, Refusal):
        return None, [FileFault(None, None, rows)]
    records = [(line, cells) for line, cells in spreadsheets.with_lines(rows) if any(cell.strip() for cell in cells)]
    if not records:
        return None, []
    line, before, header = dialect.header_among(records, lambda cells: known_names(log, cells))
    if before:
        return None, [FileFault(None, None, dialect.title_rows(before, header))]
    made, wrong = headings(log, header)
    faults = _file_faults(wrong, line)
    if any(not fault.note for fault in wrong):
        return None, faults
    path = aside / f"{log.name}.tidy"
    tidied = tidy(records[1:], len(made), path)
    dated = tuple(_dated(rows, made, tidied))
    return Source(made, manner, path, ",", 0, None, aside, tidied.lines, tuple(tidied.faults), dated), faults


def _dated(rows: list[list[object]], made: list[Heading], tidied: Tidied) -> list[Fault]:
    """Names that the sheet holds as dates: typed 3-4, kept as the third of April."""
    names = [h for h in made if h.column and h.column.kind is Kind.ID]
    found = []
    for row, line in enumerate(tidied.lines, start=1):
        cells = rows[line - 1]
        for heading in names:
            if heading.column and heading.cell < len(cells) and isinstance(cells[heading.cell], date):
                typed = spreadsheets.as_typed(cells[heading.cell])
                found.append(Fault(row, heading.column.name, typed, mangled_told(typed)))
    return found


def _file_faults(wrong: list[HeaderFault], line: int) -> list[FileFault]:
    return [FileFault(line, fault.column, fault.refusal) for fault in wrong]
