"""An old sheet as rows of text: read with the care of the logs' own reader, whatever stands above its headings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import islice
from pathlib import Path
from typing import Final

from pipeline.contract.findings import MachineFault
from pipeline.contract.quantities import Refusal
from pipeline.old_records.date_order_and_units import looks_like_value
from pipeline.old_records.heading_words import TOTALS, read_heading
from pipeline.reading import encoding_and_separator
from pipeline.reading.record_reader import Layout, records
from pipeline.reading.spreadsheets import sheet_rows, with_lines

SHEETS: Final = (".xlsx", ".xlsm", ".ods", ".xls")
_MOST_BYTES: Final = 50_000_000
_SEARCHED: Final = 30
"""So many lines are searched for the headings: nobody writes a longer preface."""


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of the sheet that holds anything: its number (1 = first) and its cells."""

    number: int
    cells: tuple[str, ...]

    def cell(self, place: int) -> str:
        """The cell at a place; empty where the line is shorter."""
        return self.cells[place] if place < len(self.cells) else ""


@dataclass(frozen=True, slots=True)
class OldSheet:
    """What was read: the headings, the lines under them, and the lines above that hold something else."""

    headings: tuple[str, ...]
    header_line: int
    lines: tuple[SheetLine, ...]
    above: tuple[SheetLine, ...]
    comma_file: bool


def read_sheet(path: Path) -> OldSheet | Refusal:
    """The sheet in a CSV, XLSX or ODS file, or why there is none. Raises MachineFault where the machine cannot read it."""
    if not path.is_file():
        return Refusal(
            "file-form", f"{path.name} is not a file that can be read", "name the file with your old records"
        )
    if path.suffix.lower() in SHEETS:
        rows = sheet_rows(path, path.stem.lower())
        if isinstance(rows, Refusal):
            return rows
        lines, commas = [SheetLine(n, tuple(c.strip() for c in cells)) for n, cells in with_lines(rows)], True
    else:
        try:
            found = _csv_lines(path)
        except OSError as fault:
            raise MachineFault(f"{path.name} cannot be read: {fault.strerror}") from fault
        if isinstance(found, Refusal):
            return found
        lines, commas = found
    lines = [line for line in lines if any(line.cells)]
    return (
        _headed(lines, commas) if lines else Refusal("file-form", f"{path.name} holds no rows", "choose the right file")
    )


def _known(cells: list[str]) -> int:
    return sum(read_heading(cell).meaning is not None for cell in cells)


def _csv_lines(path: Path) -> tuple[list[SheetLine], bool] | Refusal:
    """The records of a text file, by the separator whose best line holds most known headings."""
    if path.stat().st_size > _MOST_BYTES:
        return Refusal(
            "file-form", f"{path.name} is larger than 50 MB: these are no records kept by hand", "choose the right file"
        )
    encoding = encoding_and_separator.encoding_of(path)
    if isinstance(encoding, Refusal):
        return encoding
    with path.open(encoding=encoding, newline="") as file:
        text = file.read()
    found: list[tuple[int, int, str]] = []
    for rank, separator in enumerate((",", ";", "\t")):
        head = islice(_records(text, separator), _SEARCHED)
        found.append((max((_known(list(line.cells)) for line in head), default=0), -rank, separator))
    separator = max(found)[2]
    return list(_records(text, separator)), separator == ","


def _records(text: str, separator: str) -> Iterator[SheetLine]:
    for record in records(StringIO(text, newline=""), Layout(separator)):
        yield SheetLine(record.line, record.cells)


def _headed(lines: Sequence[SheetLine], commas: bool) -> OldSheet:
    """The lines parted at the headings: the line with most known ones, and a second line of headings under it."""
    searched = lines[:_SEARCHED]
    scores = [_known(list(line.cells)) * 2 - sum(looks_like_value(c) for c in line.cells if c) for line in searched]
    place = scores.index(max(scores))
    head = lines[place]
    below = place + 1
    headings = head.cells
    if below < len(lines) and _is_second_header(head, lines[below]):
        headings = _joined(head.cells, lines[below].cells)
        below += 1
    elif place and _is_second_header(lines[place - 1], head):
        headings = _joined(lines[place - 1].cells, head.cells)
        place -= 1
    return OldSheet(headings, lines[below - 1].number, tuple(lines[below:]), tuple(lines[:place]), commas)


def _is_second_header(upper: SheetLine, lower: SheetLine) -> bool:
    """Whether a line continues the headings above it: words or units alone, no value, and it is no total."""
    said = [c for c in lower.cells if c]
    if not said or any(looks_like_value(c) for c in said) or any(TOTALS.match(c) for c in said):
        return False
    many = len([c for c in upper.cells if c]) > 1
    return many and len(said) > 1 and all(read_heading(c).meaning or read_heading(c).unit for c in said)


def _joined(upper: Sequence[str], lower: Sequence[str]) -> tuple[str, ...]:
    """Two lines of headings as one; an empty cell in the upper one belongs to what stands left of it (merged cells)."""
    joined, last = [], ""
    for n in range(max(len(upper), len(lower))):
        above = upper[n] if n < len(upper) else ""
        below = lower[n] if n < len(lower) else ""
        last = above or (last if below else "")
        joined.append(" ".join(filter(None, (last, below))))
    return tuple(joined)
