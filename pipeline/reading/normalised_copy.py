"""A log's records put in order for the database: every row as wide as the header, in UTF-8, quoted in one way.

A file in which every line under the header is a row of as many cells, and every quote is meant, is in order as it stands.
"""

from __future__ import annotations

import csv
import re
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from pipeline.reading.encoding_and_separator import Text
from pipeline.reading.record_reader import LONGEST, WIDEST, Layout, Lines, Record, record_from
from pipeline.reading.row_faults import Fault, RowFaults, wrong_with

_QUOTE = ord('"')  # to look for a byte by its number takes a tenth of the time


@dataclass(frozen=True, slots=True)
class Ordered:
    """A file that the database can take in: where it is, its separator, the lines before its rows, and each row's line."""

    path: Path
    separator: str
    skip: int
    lines: Sequence[int]


def in_order(text: Text, layout: Layout, aside: Path, faults: RowFaults) -> Ordered:
    """The file itself where it is in order, else a copy in the folder ``aside``; what is wrong with rows goes to ``faults``."""
    rows = _rows_as_they_stand(text, layout) if text.is_plain else None
    if rows is not None:
        return Ordered(
            text.path, text.separator, text.header_line, range(text.header_line + 1, text.header_line + rows + 1)
        )
    with text.opened() as file:
        lines = Lines(islice(file, text.header_line, None))
        return _copied(lines, layout, text.header_line + 1, aside / f"{text.path.stem}.csv", faults)


def _rows_as_they_stand(text: Text, layout: Layout) -> int | None:
    """How many rows a plain file has; None where a line is no row of as many cells as the header, or a quote is odd."""
    mark, wanted, rows = text.separator.encode(), layout.width - 1, 0
    nothing, quoted = mark + b' "\n', re.compile(quoted_row(layout).encode())
    with text.path.open("rb") as file:
        if any(_QUOTE in line for line in islice(file, text.header_line)):
            return None
        for line in file:
            stands = quoted.match(line) if _QUOTE in line else line.count(mark) == wanted
            if not stands or len(line) > LONGEST or not line.strip(nothing):
                return None
            rows += 1
    return rows


def _copied(lines: Lines, layout: Layout, line: int, path: Path, faults: RowFaults) -> Ordered:
    mark, wanted, starts = layout.separator, layout.width - 1, array("L")
    nothing, quoted = mark + ' "\r\n', re.compile(quoted_row(layout))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter=mark, lineterminator="\n")
        while (first := lines.take()) is not None:
            stands = quoted.match(first) if '"' in first else first.count(mark) == wanted
            if stands and len(first) < LONGEST and first.strip(nothing):
                file.write(first.rstrip("\r\n") + "\n")
                starts.append(line)
                line += 1
                continue
            record = record_from(first, lines, layout, line, 0)
            if any(record.cells) or record.fault:
                starts.append(line)
                writer.writerow(_fitted(record, layout.width, len(starts), faults))
            line += record.lines
    return Ordered(path, mark, 0, starts)


def quoted_row(layout: Layout) -> str:
    """A pattern: lines whose quotes the database reads as the record reader does, each meant and at the edge of a cell."""
    mark = re.escape(layout.separator)
    cell = rf'(?:[^"{mark}\r\n]*|"(?![ "])[^"\r\n]*(?:""[^"\r\n]*)*(?<! )")'
    return rf"{cell}(?:{mark}{cell}){{{layout.width - 1}}}\r?\n?\Z"


def sheet_in_order(rows: Iterable[tuple[int, list[str]]], width: int, path: Path, faults: RowFaults) -> Ordered:
    """The rows of a sheet (line, cells) as a file; empty ones are left out."""
    starts = array("L")
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for record in (Record(line, 0, "", tuple(cells), 0) for line, cells in rows):
            if any(cell.strip() for cell in record.cells):
                starts.append(record.line)
                writer.writerow(_fitted(record, width, len(starts), faults))
    return Ordered(path, ",", 0, starts)


def _fitted(record: Record, width: int, row: int, faults: RowFaults) -> list[str]:
    """The record's cells, as many as the header has; what does not fit is told."""
    for refusal in wrong_with(record, width):
        faults.add(Fault(row, None, None, refusal))
    kept = [_one_line_end(cell) if len(cell) <= LONGEST else "" for cell in record.cells[:width]]
    if sum(map(len, kept)) > WIDEST:
        kept = [cell[:100] for cell in kept]
    return kept + [""] * (width - len(kept))


def _one_line_end(cell: str) -> str:
    return cell.replace("\r\n", "\n").replace("\r", "\n") if "\r" in cell else cell
