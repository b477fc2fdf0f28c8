"""A log's file opened: its header understood, and the SELECT that gives its records as text."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pipeline.book.book_folder import SHEETS, Book
from pipeline.contract.columns import Kind, Log
from pipeline.contract.quantities import Marks, Refusal
from pipeline.database.connection import Warehouse, quoted
from pipeline.reading import dialect, spreadsheets
from pipeline.reading.cell_reader import NUMERIC, Manner
from pipeline.reading.headers import HeaderFault, Heading, headings, known_names, layout
from pipeline.reading.ordered_file import Ordered, in_order, sheet_in_order
from pipeline.reading.reading_rules import dated_told
from pipeline.reading.row_faults import Fault, RowFaults

_COMMA_SHOWN = r"[0-9],[0-9]"
_DOT_SHOWN = r"(^|[^0-9.,])(0[0-9]*\.[0-9]+|[0-9]{4,}\.[0-9]+|[0-9]*\.([0-9]{1,2}|[0-9]{4,}))([^0-9.,]|$)"
_DOT_ANY = r"[0-9]\.[0-9]"


@dataclass(frozen=True, slots=True)
class FileFault:
    """Something about a file or its header: the line (None: the whole file), the column that it is about."""

    line: int | None
    column: str | None
    refusal: Refusal


@dataclass(frozen=True, slots=True)
class Source:
    """A file whose header is understood: what the database reads, and how its cells are written."""

    headings: list[Heading]
    manner: Manner
    file: Ordered

    def records(self) -> str:
        """The SELECT of the records that hold anything: ``row`` (1 = first) and each cell's text, named as its heading's."""
        names = [h.raw for h in self.headings]
        columns = ", ".join(f"{name}: 'VARCHAR'" for name in names)
        path = re.sub(r"([\[*?])", r"[\1]", str(self.file.path))
        return (
            f"SELECT (row_number() OVER ())::INTEGER AS row, * FROM read_csv({quoted(path)}, "
            f"auto_detect = false, columns = {{{columns}}}, delim = {quoted(self.file.separator)}, quote = '\"', "
            f"escape = '\"', header = false, skip = {self.file.skip}, new_line = '\\n')"
        )

    def with_marks(self, warehouse: Warehouse) -> Source:
        """With what comma and dot mean here, asked of all numbers of a semicolon or tab file."""
        numbers = [h.raw for h in self.headings if h.column and h.column.kind in NUMERIC]
        if self.file.separator == "," or not numbers:
            return self
        shown = ", ".join(
            f"coalesce(bool_or({' OR '.join(f'regexp_matches({n}, {quoted(form)})' for n in numbers)}), false) AS {name}"
            for name, form in (("comma", _COMMA_SHOWN), ("dot", _DOT_SHOWN), ("any_dot", _DOT_ANY))
        )
        (seen,) = warehouse.rows(f"SELECT {shown} FROM ({self.records()})")
        return replace(self, manner=replace(self.manner, marks=_marks(self.file.separator, **seen)))


def _marks(separator: str, comma: bool, dot: bool, any_dot: bool) -> Marks:
    """Semicolons go with decimal commas; tabs with either, so that there any dot without a comma is decimal."""
    if comma:
        return Marks.BOTH if dot else Marks.COMMA
    return Marks.DOT if dot or (separator == "\t" and any_dot) else Marks.COMMA


def open_source(log: Log, file: Path, book: Book, aside: Path) -> tuple[Source | None, list[FileFault], RowFaults]:
    """The log's file with its header understood, or None; what is to be said of the file as a whole, and of rows."""
    manner = Manner(dates=book.dates)
    if file.suffix.lower() in SHEETS:
        return _open_sheet(log, file, manner, aside)
    rows = RowFaults()
    text, refusals = dialect.look(file, lambda cells: known_names(log, cells))
    faults = [FileFault(None, None, refusal) for refusal in refusals]
    if text is None or not text.header:
        return None, faults, rows
    made, wrong = headings(log, text.header)
    faults += _file_faults(wrong, text.header_line)
    if any(not fault.note for fault in wrong):
        return None, faults, rows
    in_file = in_order(text, layout(log, text.header, text.separator), aside, rows)
    return Source(made, manner, in_file), faults, rows


def _open_sheet(log: Log, file: Path, manner: Manner, aside: Path) -> tuple[Source | None, list[FileFault], RowFaults]:
    found, faulty = spreadsheets.sheet_rows(file, log.name), RowFaults()
    if isinstance(found, Refusal):
        return None, [FileFault(None, None, found)], faulty
    records = [(line, cells) for line, cells in spreadsheets.with_lines(found) if any(cell.strip() for cell in cells)]
    if not records:
        return None, [], faulty
    line, before, header = dialect.header_among(records, lambda cells: known_names(log, cells))
    if before:
        return None, [FileFault(None, None, dialect.title_rows(before, header))], faulty
    made, wrong = headings(log, header)
    faults = _file_faults(wrong, line)
    if any(not fault.note for fault in wrong):
        return None, faults, faulty
    ordered = sheet_in_order(records[1:], len(made), aside / f"{log.name}.csv", faulty)
    _dated(found, made, ordered, faulty)
    return Source(made, manner, ordered), faults, faulty


def _dated(rows: list[list[object]], made: list[Heading], ordered: Ordered, faults: RowFaults) -> None:
    """Names that the sheet holds as dates: typed 3-4, kept as the third of April."""
    names = [h for h in made if h.column and h.column.kind is Kind.ID]
    for row, line in enumerate(ordered.lines, start=1):
        cells = rows[line - 1]
        for heading in names:
            if heading.column and heading.cell < len(cells) and isinstance(cells[heading.cell], date):
                typed = spreadsheets.as_typed(cells[heading.cell])
                faults.add(Fault(row, heading.column.name, typed, dated_told(typed)))


def _file_faults(wrong: list[HeaderFault], line: int) -> list[FileFault]:
    return [FileFault(line, fault.column, fault.refusal) for fault in wrong]
