"""A log as its own bytes: rows are added and cells changed, and every other byte stays as it is."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from pipeline.contract.columns import Log
from pipeline.reading.headers import layout
from pipeline.reading.record_reader import Layout, Record, breaks, file_records, records

BOMS = {"utf-8": b"\xef\xbb\xbf", "utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}
"""The byte order marks that a log may start with, by the encoding they announce."""


class UnfitForWriting(Exception):  # noqa: N818 - a state of the file, told to the person as a finding
    """The log cannot take the row as it is; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a log is written: encoding (without its mark), separator and line end."""

    encoding: str = "utf-8"
    bom: bool = False
    separator: str = ","
    newline: str = "\n"


@dataclass(frozen=True)
class LogFile:
    """The text of one log and how it was encoded. Empty text is a log without even a header.

    ``log`` says which columns take line breaks; without it, all do.
    """

    style: Style
    text: str
    log: Log | None = None

    @classmethod
    def decoded(cls, data: bytes, encoding: str, separator: str, log: Log | None = None) -> LogFile:
        """A log from its bytes. Bytes that the encoding has no letter for are carried through unchanged."""
        mark = BOMS.get(encoding, b"")
        bom = bool(mark) and data.startswith(mark)
        text = data[len(mark) if bom else 0 :].decode(encoding, _errors(encoding))
        return cls(Style(encoding, bom, separator, _newline(text)), text, log)

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
        return tuple(self._read())

    @cached_property
    def first(self) -> Record | None:
        """The header's record, without a walk through the rest; None where the log is empty."""
        return next(self._read(), None)

    def _read(self) -> Iterator[Record]:
        return file_records(io.StringIO(self.text, newline=""), self.style.separator, self._laid_out)

    def _laid_out(self, header: Sequence[str]) -> Layout:
        mark = self.style.separator
        return layout(self.log, header, mark) if self.log else Layout(mark, len(header))

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
        parts, at, expected = [], 0, []
        for n, record in enumerate(self.records):
            missing = [""] * max(0, width - len(record.cells))
            cells = names if n == 0 else [*missing, *("" for _ in names)]
            parts += [self.text[at : record.stop], *(self.style.separator + self._cell(c) for c in cells)]
            at = record.stop
            expected.append((*record.cells, *cells))
        return self._as_meant("".join([*parts, self.text[at:]]), expected)

    def with_rows(self, rows: Sequence[Sequence[str]]) -> LogFile:
        """The log with rows added at its end; the old text is the beginning of the new one."""
        gap = "" if not self.text or self.text.endswith(("\n", "\r")) else self.style.newline
        quoted = self._quoted_columns()
        above, below = self.text + gap, "".join(self._line(row, quoted) for row in rows)
        if self.first is None or '"' in above:
            return self._as_meant(above + below, [*(r.cells for r in self.records), *rows])
        # without a quote no line reaches into the next one: what stands above is read as before
        read = records(io.StringIO(below, newline=""), self._laid_out(self.header), breaks(above) + 1, len(above))
        return replace(self, text=above + below)._if_meant(tuple(read), rows)

    def with_cell(self, record: Record, column: int, value: str) -> LogFile:
        """The log with one cell of one record changed; a row shorter than that is filled up with empty cells."""
        if self.text[record.start : record.stop] != record.text:
            raise UnfitForWriting(f"line {record.line} is not what was read; look at it and try again")
        spans = record.spans(self.style.separator)
        filled_up = max(0, column - len(spans) + 1)
        if filled_up:
            start = stop = record.stop
            written = self.style.separator * filled_up + self._cell(value)
        else:
            start, stop = spans[column]
            written = self._cell(value, _is_quoted(self.text[start:stop]))
        cells = [*record.cells, *[""] * filled_up]
        cells[column] = value
        at = self.records.index(record)
        others = [r.cells for r in self.records]
        return self._as_meant(self.text[:start] + written + self.text[stop:], [*others[:at], cells, *others[at + 1 :]])

    def without(self, record: Record) -> LogFile:
        """The log without one record; its line goes as a whole."""
        others = [r.cells for r in self.records if r is not record]
        return self._as_meant(self.text[: record.start] + self.text[record.after :], others)

    def _as_meant(self, text: str, expected: Sequence[Sequence[str]]) -> LogFile:
        """The log with a new text, which is read again: every cell must be what was meant. Raises UnfitForWriting."""
        after = replace(self, text=text)
        return after._if_meant(after.records, expected)

    def _if_meant(self, read: Sequence[Record], expected: Sequence[Sequence[str]]) -> LogFile:
        """The log itself, of which these records were read again, where they say what was meant. Raises UnfitForWriting."""
        same = len(read) == len(expected)
        wrong = next((r for r, cells in zip(read, expected, strict=False) if not _says(r, cells)), None)
        if same and wrong is None:
            return self
        told = f"line {wrong.line}" if wrong else "the end of the log"
        raise UnfitForWriting(f"what is to be written would be read as something else ({told}); look for a quote there")

    def _quoted_columns(self) -> frozenset[int]:
        """The columns whose cell is quoted in the last row."""
        if '"' not in self.text or not self.records:
            return frozenset()
        spans = self.records[-1].spans(self.style.separator)
        return frozenset(n for n, (start, stop) in enumerate(spans) if _is_quoted(self.text[start:stop]))

    def _line(self, cells: Sequence[str], quoted: frozenset[int] = frozenset()) -> str:
        written = (self._cell(cell, n in quoted) for n, cell in enumerate(cells))
        return self.style.separator.join(written) + self.style.newline

    def _cell(self, value: str, quoted: bool = False) -> str:
        unsafe = quoted or value != value.strip() or any(c in value for c in (self.style.separator, '"', "\r", "\n"))
        return '"' + value.replace('"', '""') + '"' if unsafe else value


def _is_quoted(cell: str) -> bool:
    return cell.lstrip(" ").startswith('"')


def _says(record: Record, cells: Sequence[str]) -> bool:
    """Whether a record holds these cells."""
    return [*record.cells] == [cell.strip(" ") for cell in cells]


def _newline(text: str) -> str:
    """The line end that the log uses last, so that a log of mixed ends goes on as it was left."""
    ends = re.findall(r"\r\n|\n|\r", text[-4096:]) or re.findall(r"\r\n|\n|\r", text[:4096])
    return ends[-1] if ends else "\n"


def _errors(encoding: str) -> str:
    return "strict" if encoding.startswith("utf-16") else "surrogateescape"
