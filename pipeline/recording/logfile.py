"""A log as its own bytes: rows are added and cells changed, and every other byte stays as it is."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

BOMS = {"utf-8": b"\xef\xbb\xbf", "utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}
"""The byte order marks that a log may start with, by the encoding they announce."""

_TAIL = 16 * 1024  # the last row is looked for in so many letters at the end
_SEP_LINE = re.compile(r'\s*"?sep=."?[,;\t]*\s*', re.IGNORECASE)  # some spreadsheets name the separator on line 1


class UnfitForWriting(Exception):  # noqa: N818 - a state of the file, told to the person as a finding
    """The log cannot take the row as it is; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a log is written: encoding (without its mark), separator and line end."""

    encoding: str = "utf-8"
    bom: bool = False
    separator: str = ","
    newline: str = "\n"


@dataclass(frozen=True, slots=True)
class Record:
    """One record: its first physical line (1 = first in the file), where its text lies, and its cells."""

    line: int
    start: int
    stop: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class LogFile:
    """The text of one log and how it was encoded. Empty text is a log without even a header."""

    style: Style
    text: str

    @classmethod
    def decoded(cls, data: bytes, encoding: str, separator: str) -> LogFile:
        """A log from its bytes. Bytes that the encoding has no letter for are carried through unchanged."""
        mark = BOMS.get(encoding, b"")
        bom = bool(mark) and data.startswith(mark)
        text = data[len(mark) if bom else 0 :].decode(encoding, _errors(encoding))
        return cls(Style(encoding, bom, separator, _newline(text)), text)

    def encoded(self) -> bytes:
        """The bytes. Raises UnfitForWriting where the encoding has no letter for something in the text."""
        mark = BOMS[self.style.encoding] if self.style.bom else b""
        try:
            return mark + self.text.encode(self.style.encoding, _errors(self.style.encoding))
        except UnicodeEncodeError as gap:
            letter = self.text[gap.start]
            raise UnfitForWriting(
                f"the log is saved as {self.style.encoding}, which has no letter {letter!r}; save it as UTF-8 first"
            ) from gap

    @cached_property
    def records(self) -> tuple[Record, ...]:
        """Header and data records; empty lines are left out."""
        found = [r for r in _records(self.text, self.style.separator) if any(c.strip() for c in r.cells)]
        return tuple(found[1:] if found and found[0] != self.first else found)

    @cached_property
    def first(self) -> Record | None:
        """The header's record, without a walk through the rest; None where the log is empty."""
        found = (r for r in _records(self.text, self.style.separator) if any(c.strip() for c in r.cells))
        first = next(found, None)
        told = first and _SEP_LINE.fullmatch(self.text[first.start : first.stop])
        return next(found, None) if told else first

    @property
    def header(self) -> tuple[str, ...]:
        """The header's cells as written, or nothing where the log is empty."""
        return self.first.cells if self.first else ()

    @property
    def lines(self) -> int:
        """How many physical lines there are."""
        return breaks(self.text) + (not self.text.endswith(("\n", "\r")) if self.text else 0)

    def with_columns(self, names: Sequence[str]) -> LogFile:
        """The log with columns added at the end of its header, and an empty cell at the end of every row."""
        if self.first is None:
            return replace(self, text=self._line(names))
        width = len(self.header)
        parts, at = [], 0
        for n, record in enumerate(self.records):
            missing = max(0, width - len(record.cells))
            cells = names if n == 0 else [""] * (missing + len(names))
            parts += [self.text[at : record.stop], *(self.style.separator + self._cell(c) for c in cells)]
            at = record.stop
        return replace(self, text="".join([*parts, self.text[at:]]))

    def with_rows(self, rows: Sequence[Sequence[str]]) -> LogFile:
        """The log with rows added at its end; the old text is the beginning of the new one."""
        if self.text.count('"') % 2 and _ends_inside_quotes(self.text, self.style.separator):
            raise UnfitForWriting(
                "its last quoted cell is not closed, so that a new row would be lost in it; close the quote"
            )
        gap = "" if not self.text or self.text.endswith(("\n", "\r")) else self.style.newline
        quoted = self._quoted_columns()
        return replace(self, text=self.text + gap + "".join(self._line(row, quoted) for row in rows))

    def with_cell(self, record: Record, column: int, value: str) -> LogFile:
        """The log with one cell of one record changed; a row shorter than that is filled up with empty cells."""
        body = self.text[record.start : record.stop]
        spans = cell_spans(body, self.style.separator)
        if column >= len(spans):
            tail = self.style.separator * (column - len(spans) + 1) + self._cell(value)
            return self._spliced(record.stop, record.stop, tail)
        start, stop = spans[column]
        was_quoted = body[start : start + 1] == '"'
        return self._spliced(record.start + start, record.start + stop, self._cell(value, was_quoted))

    def _spliced(self, start: int, stop: int, new: str) -> LogFile:
        return replace(self, text=self.text[:start] + new + self.text[stop:])

    def _quoted_columns(self) -> frozenset[int]:
        """The columns whose cell is quoted in the last line, where that stands for itself."""
        body = next((line for line in reversed(self.text[-_TAIL:].splitlines()) if line.strip()), "")
        if (len(self.text) > _TAIL and "\n" not in self.text[-_TAIL:].rstrip()) or body.count('"') % 2:
            return frozenset()
        spans = cell_spans(body, self.style.separator)
        return frozenset(n for n, (start, _) in enumerate(spans) if body[start : start + 1] == '"')

    def _line(self, cells: Sequence[str], quoted: frozenset[int] = frozenset()) -> str:
        written = (self._cell(cell, n in quoted) for n, cell in enumerate(cells))
        return self.style.separator.join(written) + self.style.newline

    def _cell(self, value: str, quoted: bool = False) -> str:
        unsafe = quoted or value != value.strip() or any(c in value for c in (self.style.separator, '"', "\r", "\n"))
        return '"' + value.replace('"', '""') + '"' if unsafe else value


def cell_spans(body: str, separator: str) -> list[tuple[int, int]]:
    """Where each cell of one record begins and ends in its text, quotes included."""
    cell = re.compile(rf'(?:"(?:[^"]|"")*")?[^{re.escape(separator)}]*')
    spans, at = [], 0
    while True:
        match = cell.match(body, at)
        stop = match.end() if match else at
        spans.append((at, stop))
        if stop >= len(body):
            return spans
        at = stop + 1


def breaks(text: str) -> int:
    """How many line ends there are, of whatever kind."""
    return text.count("\n") + text.count("\r") - text.count("\r\n")


def _records(text: str, separator: str) -> Iterator[Record]:
    lines: list[str] = []

    def kept() -> Iterator[str]:
        for line in io.StringIO(text, newline=""):
            lines.append(line)
            yield line

    reader = csv.reader(kept(), delimiter=separator)
    start = before = 0
    for cells in _readable(reader):
        stop = start + sum(map(len, lines))
        yield Record(before + 1, start, stop - (len(lines[-1]) - len(lines[-1].rstrip("\r\n"))), tuple(cells))
        start, before = stop, reader.line_num
        lines.clear()


def _readable(reader: Iterator[list[str]]) -> Iterator[list[str]]:
    try:
        yield from reader
    except csv.Error as fault:
        raise UnfitForWriting(f"it cannot be read as a table ({fault}); mend it first") from fault


def _ends_inside_quotes(text: str, separator: str) -> bool:
    try:
        for _ in csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True):
            pass
    except csv.Error as fault:
        return "unexpected end of data" in str(fault)
    return False


def _newline(text: str) -> str:
    """The line end that the log uses last, so that a log of mixed ends goes on as it was left."""
    ends = re.findall(r"\r\n|\n|\r", text[-4096:]) or re.findall(r"\r\n|\n|\r", text[:4096])
    return ends[-1] if ends else "\n"


def _errors(encoding: str) -> str:
    return "strict" if encoding.startswith("utf-16") else "surrogateescape"
