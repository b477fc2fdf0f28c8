"""On which physical line of its file a row stands: worked out only where somebody must be told."""

from __future__ import annotations

import csv
from array import array
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.reading.dialect import Text


@dataclass(frozen=True, slots=True)
class Lines:
    """Where the rows of one log stand.

    ``known`` holds the line of each row where the reading had to note it (sheets, files put in order); else the
    file ``text`` is walked, of which ``rows`` rows were read.
    """

    text: Text | None
    rows: int
    known: array[int] | None = None

    def of(self, rows: set[int]) -> dict[int, int]:
        """The physical line (1 = first) on which each of these rows (1 = first) begins."""
        if self.known is not None:
            return {row: self.known[row - 1] for row in rows}
        if self.text is None or not rows:
            return {}
        if _one_line_each(self.text, self.rows):
            return {row: self.text.header_line + row for row in rows}
        starts = enumerate(record_starts(self.text), start=1)
        last = max(rows)
        found = {}
        for row, (line, _) in starts:
            if row in rows:
                found[row] = line
            if row >= last:
                break
        return found


def record_starts(text: Text) -> Iterator[tuple[int, list[str]]]:
    """The first line and the cells of each record under the header that holds anything; raises csv.Error."""
    with text.opened() as file:
        for _ in range(text.header_line):
            next(file, None)
        reader = csv.reader(file, delimiter=text.separator, skipinitialspace=True)
        before = 0
        for cells in reader:
            if any(cell.strip(" ") for cell in cells):
                yield text.header_line + before + 1, cells
            before = reader.line_num


def _one_line_each(text: Text, rows: int) -> bool:
    """Whether every line under the header is surely one row: no quotes, no odd line ends, as many lines as rows."""
    if text.path != text.original:
        return False
    lines, last = 0, b"\n"
    with text.original.open("rb") as file:
        while chunk := file.read(1 << 22):
            if b'"' in chunk:
                return False
            lines += chunk.count(b"\n")
            last = chunk[-1:]
    return lines + (last != b"\n") - text.header_line == rows
