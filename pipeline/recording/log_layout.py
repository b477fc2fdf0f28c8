"""A log's shape: which column stands where, in which unit, behind which separator, with which decimal mark."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from pathlib import Path

from pipeline.book.book_settings import SHEETS, Book
from pipeline.contract import log_columns
from pipeline.contract.columns import SUFFIXES, CellKind, Column, Log
from pipeline.contract.quantities import Refusal
from pipeline.reading import encoding_and_separator, spreadsheets
from pipeline.reading.cell_reader import NUMERIC
from pipeline.reading.headers import HeaderFault, Heading, headings, known_names
from pipeline.recording.log_bytes import LogFile, Style, UnfitForWriting
from pipeline.recording.written_cells import ColumnForm


@dataclass(frozen=True)
class Shape:
    """One log of one book. ``data`` None: there is no file yet. ``unfit`` says why rows cannot be added, else empty."""

    log: Log
    book: Book
    path: Path
    data: bytes | None
    file: LogFile
    headings: tuple[Heading, ...]
    unfit: str = ""

    @cached_property
    def where(self) -> dict[str, tuple[int, str]]:
        """The place and the unit of each of the log's columns that the header has."""
        return {h.column.name: (h.cell, h.unit or "") for h in self.headings if h.column}

    @property
    def others(self) -> dict[str, int]:
        """The places of the columns that the log does not know, by their own header."""
        return {h.text: h.cell for h in self.headings if h.column is None}

    def manner(self, column: Column) -> ColumnForm:
        """How the log writes a column; one that it lacks would be added in the book's unit.

        A log parted by commas has decimal dots. Any other goes on with the mark that it shows; where it shows both,
        or none, a mark before just three digits could be read as thousands, so none is written there.
        """
        _, unit = self.where.get(column.name, (0, book_unit(self.book, column)))
        comma, dot = self._marks
        wary = self.file.style.separator != "," and comma == dot
        return ColumnForm(
            unit,
            "," if comma else ".",
            words(self.book, column),
            self.book.dates,
            wary or (dot and not comma),
            self.book.currency,
            self.book.vessels,
        )

    @cached_property
    def _marks(self) -> tuple[bool, bool]:
        """Whether the log's numbers show decimal commas, and decimal dots; one parted by commas has neither to tell."""
        if self.file.style.separator == ",":
            return False, False
        numbers = [h.cell for h in self.headings if h.column and h.column.kind in NUMERIC]
        comma, dot = (self._shows(re.compile(rf"[0-9]\{mark}[0-9]"), numbers) for mark in ",.")
        return comma, dot

    def _shows(self, form: re.Pattern[str], places: Sequence[int]) -> bool:
        if not form.search(self.file.text):
            return False
        return any(form.search(row[n]) for row in self._rows() for n in places if n < len(row))

    def having(self, name: str, value: str) -> list[dict[str, str]]:
        """The rows whose cell of a column is ``value``."""
        place = self.where[name][0] if name in self.where and value else None
        if place is None or value not in self.file.text:
            return []
        return [self._named(row) for row in self._rows() if place < len(row) and row[place] == value]

    def values(self, name: str) -> list[str]:
        """All cells of a column, empty ones left out: a walk through the whole log."""
        return [value for row in self._rows() if (value := self._named(row).get(name, ""))]

    @cached_property
    def is_empty(self) -> bool:
        """Whether the log has no row yet."""
        return next(self._rows(), None) is None

    def _named(self, row: Sequence[str]) -> dict[str, str]:
        return {name: row[n] for name, (n, _) in self.where.items() if n < len(row)}

    def _rows(self) -> Iterator[Sequence[str]]:
        """The cells of the records under the header."""
        return (record.cells for record in self.file.records[1:])


def book_unit(book: Book, column: Column) -> str:
    """The unit that the book shows a column in, by its header suffix; empty where it has none."""
    shown = {
        CellKind.MASS: book.show.mass_unit,
        CellKind.LENGTH: book.show.length,
        CellKind.TEMPERATURE: book.show.temperature.lower(),
        CellKind.VOLUME: "floz" if book.show.length == "in" else "ml",
    }
    return shown.get(column.kind, SUFFIXES.get(column.kind, ("",))[0])


def words(book: Book, column: Column) -> tuple[str, ...]:
    """The words that a choice column allows in this book."""
    return log_columns.words(column, book.more_words())


def header_name(book: Book, column: Column) -> str:
    """A column's name as it stands in a new header."""
    unit = book_unit(book, column)
    return f"{column.name}_{unit}" if unit else column.name


def shape_of(book: Book, log: Log) -> Shape:
    """The log as it stands on disk. Raises UnfitForWriting where a build could not read it either."""
    files = book.log_files(log.name)
    if len(files) > 1:
        raise UnfitForWriting(f"{' and '.join(f.name for f in files)} both hold the log; keep one of them")
    path = files[0] if files else book.folder / log.file
    if path.suffix in SHEETS:
        unfit = f"{path.name} is a spreadsheet, which rows cannot be added to; save it as {log.file}"
        return _shaped(Shape(log, book, path, None, _of_a_sheet(path, log), (), unfit))
    if refusal := encoding_and_separator.no_file(path) if files else None:
        raise UnfitForWriting(f"{path.name}: {refusal.sentence()}")
    data = path.read_bytes() if files else None
    file = _decoded(data, log, path) if data else LogFile(Style(), "", log)
    return _shaped(Shape(log, book, path, data, file, ()))


def with_text(shape: Shape, file: LogFile) -> Shape:
    """The log as it would stand with another text. Raises UnfitForWriting."""
    return _shaped(replace(shape, file=file))


def _shaped(bare: Shape) -> Shape:
    """With what each cell of the header means; a log without one gets every column."""
    log, file = bare.log, bare.file
    if file.first is None:
        file = file.with_columns([header_name(bare.book, c) for c in log.columns])
    made, faults = headings(log, file.header)
    for fault in faults:
        if not fault.note and not _can_be_added(fault):
            raise UnfitForWriting(f"{bare.path.name}: {fault.refusal.sentence()}")
    return replace(bare, file=file, headings=tuple(made))


def _can_be_added(fault: HeaderFault) -> bool:
    """A column that the header lacks is added with the first row that fills it."""
    return fault.refusal.rule == "column-missing"


def _decoded(data: bytes, log: Log, path: Path) -> LogFile:
    text, refusals = encoding_and_separator.look(path, partial(known_names, log))
    if text is None:
        raise UnfitForWriting(f"{path.name}: {refusals[-1].sentence()}")
    try:
        return LogFile.decoded(data, _with_order(text.encoding, data), text.separator, log)
    except (UnicodeDecodeError, LookupError) as fault:
        raise UnfitForWriting(f"{path.name} is saved as {text.encoding}; save it as UTF-8") from fault


def _with_order(encoding: str, data: bytes) -> str:
    """The encoding with its order of bytes, as the mark at the start tells it."""
    if encoding == "utf-16":
        return "utf-16-be" if data.startswith(b"\xfe\xff") else "utf-16-le"
    return encoding.removesuffix("-sig")


def _of_a_sheet(path: Path, log: Log) -> LogFile:
    """A spreadsheet's rows as a text to look names up in; it is never written."""
    rows = spreadsheets.sheet_rows(path, log.name)
    if isinstance(rows, Refusal):
        raise UnfitForWriting(f"{path.name}: {rows.sentence()}")
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(cells for _, cells in spreadsheets.with_lines(rows))
    return LogFile(Style(), text.getvalue(), log)
