"""A log's file opened, where there is but one: its header understood, and the SELECT that gives its records as text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pipeline.book.book_settings import SHEETS, Book
from pipeline.contract.columns import CellKind, Log
from pipeline.contract.quantities import Marks, Refusal
from pipeline.database.connection import Warehouse, quoted
from pipeline.reading import encoding_and_separator, spreadsheets
from pipeline.reading.archive_limits import Place
from pipeline.reading.cell_reader import NUMERIC, Conventions
from pipeline.reading.header_line import header_among, title_rows
from pipeline.reading.headers import HeaderFault, Heading, headings, known_names, layout
from pipeline.reading.normalised_copy import Ordered, in_order, sheet_in_order
from pipeline.reading.reading_rule_sentences import dated_told, sheets_told, unvalued_told
from pipeline.reading.row_faults import Fault, RowFaults

_SURE = r"(^|[^0-9.,])(0[0-9]*\{0}[0-9]+|[0-9]{{4,}}\{0}[0-9]+|[0-9]*\{0}([0-9]{{1,2}}|[0-9]{{4,}}))([^0-9.,]|$)"
"""A number whose comma or dot can only be the decimal mark: 12,5 or 0,915, but not 4,230."""


@dataclass(frozen=True, slots=True)
class FileFault:
    """Something about a file or its header: the line (None: the whole file), the column that it is about."""

    line: int | None
    column: str | None
    refusal: Refusal


@dataclass(frozen=True, slots=True)
class LogSource:
    """A file whose header is understood: what the database reads, and how its cells are written."""

    headings: list[Heading]
    how: Conventions
    file: Ordered

    @property
    def path(self) -> str:
        """The file as the database is told of it: what would stand for other names stands for itself."""
        return re.sub(r"([\[*?])", r"[\1]", str(self.file.path))

    def records(self) -> str:
        """The SELECT, given the ``path``, of the records that hold anything.

        ``row`` (1 = first) and each cell's text, named as its heading's.
        """
        names = [h.raw for h in self.headings]
        columns = ", ".join(f"{name}: 'VARCHAR'" for name in names)
        return (
            f"SELECT (row_number() OVER ())::INTEGER AS row, * FROM read_csv(?, "
            f"auto_detect = false, columns = {{{columns}}}, delim = {quoted(self.file.separator)}, quote = '\"', "
            f"escape = '\"', header = false, skip = {self.file.skip}, new_line = '\\n')"
        )

    def with_marks(self, warehouse: Warehouse, decimal: str) -> LogSource:
        """With what comma and dot mean in a semicolon or tab file: as the book says, else as its sure decimals show."""
        numbers = [h.raw for h in self.headings if h.column and h.column.kind in NUMERIC]
        if self.file.separator == "," or not numbers:
            return self
        comma, dot = (decimal == mark for mark in ("comma", "dot"))
        if decimal == "auto":
            shown = ", ".join(
                f"coalesce(bool_or({' OR '.join(f'regexp_matches({n}, {quoted(_SURE.format(mark))})' for n in numbers)}), false)"
                f" AS {name}"
                for name, mark in (("comma", ","), ("dot", "."))
            )
            (seen,) = warehouse.rows(f"SELECT {shown} FROM ({self.records()})", [self.path])
            comma, dot = seen["comma"], seen["dot"]
        return replace(self, how=replace(self.how, marks=_marks(comma, dot)))


def _marks(comma: bool, dot: bool) -> Marks:
    """What the sure decimals of a semicolon or tab file say of all of them."""
    if comma == dot:
        return Marks.UNSURE
    return Marks.COMMA if comma else Marks.DOT_SHOWN


def open_source(
    log: Log, files: Sequence[Path], book: Book, aside: Path
) -> tuple[LogSource | None, list[FileFault], RowFaults]:
    """The log's file with its header understood, or None; what is to be said of the file as a whole, and of rows."""
    if len(files) > 1:
        return None, [FileFault(None, None, _twice(files))], RowFaults()
    file = files[0]
    how = Conventions(dates=book.dates, currency=book.currency)
    if file.suffix.lower() in SHEETS:
        return _open_sheet(log, file, how, aside)
    rows = RowFaults()
    text, refusals = encoding_and_separator.look(file, lambda cells: known_names(log, cells))
    faults = [FileFault(None, None, refusal) for refusal in refusals]
    if text is None or not text.header:
        return None, faults, rows
    made, wrong = headings(log, text.header)
    faults += _file_faults(wrong, text.header_line)
    if any(not fault.note for fault in wrong):
        return None, faults, rows
    in_file = in_order(text, layout(log, text.header, text.separator), aside, rows)
    return LogSource(made, how, in_file), faults, rows


def _twice(files: Sequence[Path]) -> Refusal:
    names = " and ".join(f.name for f in files)
    reason = f"the log is kept in {len(files)} files, {names}, and one was expected; none was read"
    return Refusal("log-twice", reason, "keep the one that is up to date and move the other out of the book")


def _open_sheet(
    log: Log, file: Path, how: Conventions, aside: Path
) -> tuple[LogSource | None, list[FileFault], RowFaults]:
    faulty = RowFaults()
    found = encoding_and_separator.no_file(file) or spreadsheets.sheet(file, log.name)
    if isinstance(found, Refusal):
        return None, [FileFault(None, None, found)], faulty
    records = [
        (line, cells) for line, cells in spreadsheets.with_lines(found.rows) if any(cell.strip() for cell in cells)
    ]
    faults = [FileFault(None, None, sheets_told(found.unread))] if found.unread else []
    if not records:
        return None, faults, faulty
    line, before, header = header_among(records, lambda cells: known_names(log, cells))
    if before:
        return None, [FileFault(None, None, title_rows(before, header))], faulty
    made, wrong = headings(log, header)
    faults += _file_faults(wrong, line)
    if any(not fault.note for fault in wrong):
        return None, faults, faulty
    ordered = sheet_in_order(records[1:], len(made), aside / f"{log.name}.csv", faulty)
    _dated(found.rows, made, ordered, faulty)
    _unvalued(found.unvalued, made, ordered, faulty)
    return LogSource(made, how, ordered), faults, faulty


def _dated(rows: list[list[object]], made: list[Heading], ordered: Ordered, faults: RowFaults) -> None:
    """Names that the sheet holds as dates: typed 3-4, kept as the third of April."""
    names = [h for h in made if h.column and h.column.kind is CellKind.ID]
    for row, line in enumerate(ordered.lines, start=1):
        cells = rows[line - 1]
        for heading in names:
            if heading.column and heading.cell < len(cells) and isinstance(cells[heading.cell], date):
                typed = spreadsheets.as_typed(cells[heading.cell])
                faults.add(Fault(row, heading.column.name, typed, dated_told(typed)))


def _unvalued(places: Iterable[Place], made: list[Heading], ordered: Ordered, faults: RowFaults) -> None:
    """Cells with a formula whose value the file does not carry: they would be read as empty."""
    rows = {line: row for row, line in enumerate(ordered.lines, start=1)}
    for place in places:
        column = next((h.column.name for h in made if h.column and h.cell + 1 == place.column), None)
        if column and place.row in rows:
            faults.add(Fault(rows[place.row], column, None, unvalued_told()))


def _file_faults(wrong: list[HeaderFault], line: int) -> list[FileFault]:
    return [FileFault(line, fault.column, fault.refusal) for fault in wrong]
