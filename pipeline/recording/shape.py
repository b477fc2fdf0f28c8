"""A log's shape: which column stands where, in which unit, behind which separator, with which decimal mark."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter
from pathlib import Path

from pipeline.book import Book
from pipeline.columns import SUFFIXES, Column, Kind, Log
from pipeline.recording.cells import Manner
from pipeline.recording.logfile import LogFile, UnfitForWriting

_NOWHERE = 4096  # a spot beyond every row: the column is not there
_SEPARATORS = {".tsv": "\t"}
_TEXT = (".csv", ".tsv", ".txt")


@dataclass(frozen=True)
class Shape:
    """One log of one book, ready to be added to. ``data`` None: there is no file yet."""

    log: Log
    book: Book
    path: Path
    data: bytes | None
    file: LogFile
    where: dict[str, tuple[int, str]]
    marks: tuple[bool, bool]

    def manner(self, column: Column) -> Manner:
        """How the log writes a column; one that it lacks would be added in the book's unit.

        A log parted by commas has decimal dots. Any other goes on with the mark that it shows; where it shows both,
        or none, a mark before just three digits could be read as thousands, so none is written there.
        """
        _, unit = self.where.get(column.name, (0, book_unit(self.book, column)))
        comma, dot = self.marks
        wary = self.file.style.separator != "," and comma == dot
        return Manner(
            unit, "," if comma else ".", words(self.book, column), self.book.dates, wary or (dot and not comma)
        )

    def rows(self) -> Iterator[list[str]]:
        """The data records' cells, trimmed, without the lines; quick, for looking names up."""
        header_line = self.file.header_line
        lines = csv.reader(io.StringIO(self.file.text, newline=""), delimiter=self.file.style.separator)
        try:
            for row in lines:
                if lines.line_num > header_line and any(row):
                    yield row
        except csv.Error as fault:
            raise UnfitForWriting(f"{self.path.name} cannot be read as a table ({fault}); mend it first") from fault

    def column(self, *names: str) -> list[tuple[str, ...]]:
        """The cells of some columns for every record; empty text where the log or the row lacks one."""
        spots = [self.where.get(name, (_NOWHERE, ""))[0] for name in names]
        if len(spots) == 1:
            spot = spots[0]
            return [(r[spot].strip() if spot < len(r) else "",) for r in self.rows()]
        pick, longest = itemgetter(*spots), max(spots)
        padding = [""] * (longest + 1)
        return [tuple(map(str.strip, pick(r if len(r) > longest else r + padding))) for r in self.rows()]


def book_unit(book: Book, column: Column) -> str:
    """The unit that the book shows a column in, by its header suffix; empty where it has none."""
    shown = {
        Kind.MASS: book.show.mass,
        Kind.LENGTH: book.show.length,
        Kind.TEMPERATURE: book.show.temperature.lower(),
    }
    return shown.get(column.kind, SUFFIXES.get(column.kind, ("",))[0])


def words(book: Book, column: Column) -> tuple[str, ...]:
    """The words that a choice column allows in this book."""
    return column.choices + book.more_words().get(column.more, ())


def header_name(book: Book, column: Column) -> str:
    """A column's name as it stands in a new header."""
    unit = book_unit(book, column)
    return f"{column.name}_{unit}" if unit else column.name


def split_name(log: Log, name: str) -> tuple[Column, str] | None:
    """A header's name, or one typed, as a column and the unit it carries; None where the log has no such column."""
    tidy = re.sub(r"\s+", "_", name.strip().lower())
    for column in log.columns:
        if tidy == column.name:
            return column, ""
        for unit in SUFFIXES.get(column.kind, ()):
            if tidy == f"{column.name}_{unit}":
                return column, unit
    return None


def shape_of(book: Book, log: Log) -> Shape:
    """The log as it stands on disk. Raises UnfitForWriting where it is kept in a form that rows cannot be added to."""
    files = book.log_files(log.name)
    if len(files) > 1:
        raise UnfitForWriting(f"{' and '.join(f.name for f in files)} both hold the log; keep one of them")
    path = files[0] if files else book.folder / log.file
    if path.suffix not in _TEXT:
        raise UnfitForWriting(f"{path.name} is a spreadsheet, which rows cannot be added to; save it as {log.file}")
    data = path.read_bytes() if files else None
    file = _decoded(data or b"", log, path)
    if data is None or file.first is None:
        file = file.with_columns([header_name(book, c) for c in log.columns])
    where = _where(log, file.header)
    return Shape(log, book, path, data, file, where, _marks(file, log, where))


def _decoded(data: bytes, log: Log, path: Path) -> LogFile:
    encoding = _encoding(data)
    try:
        text = LogFile.decoded(data, encoding, ",").text
    except UnicodeDecodeError as fault:
        raise UnfitForWriting(f"{path.name} is not readable text ({fault.reason}); save it as UTF-8") from fault
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(_SEPARATORS.get(path.suffix, "") + ",;\t", key=lambda s: _known(log, first, s))
    return LogFile.decoded(data, encoding, separator)


def _encoding(data: bytes) -> str:
    for mark, name in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if data.startswith(mark):
            return name
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _known(log: Log, line: str, separator: str) -> int:
    """How many of a header line's cells are columns of the log."""
    cells = next(csv.reader([line], delimiter=separator), [])
    return sum(split_name(log, cell) is not None for cell in cells)


def _where(log: Log, header: Sequence[str]) -> dict[str, tuple[int, str]]:
    found: dict[str, tuple[int, str]] = {}
    for n, name in enumerate(header):
        split = split_name(log, name)
        if split is not None:
            found.setdefault(split[0].name, (n, split[1]))
    return found


def _marks(file: LogFile, log: Log, where: dict[str, tuple[int, str]]) -> tuple[bool, bool]:
    """Whether the log's numbers show decimal commas, and decimal dots; one parted by commas has neither to tell."""
    if file.style.separator == ",":
        return False, False
    numbers = [where[c.name][0] for c in log.columns if c.name in where and (c.kind in SUFFIXES or c.kind in _DECIMALS)]
    cells = [r.cells[i] for r in file.records[1:] for i in numbers if i < len(r.cells)]
    return any(re.search(r"\d,\d", c) for c in cells), any(re.search(r"\d\.\d", c) for c in cells)


_DECIMALS = (Kind.NUMBER, Kind.MONEY, Kind.PERCENT)
