"""Files that the database's strict reader stumbles over, and sheets, put in order: every row as wide as the header.

What cannot be put in order is said: cells beyond the header, a quote never closed, a cell too long to be meant.
"""

from __future__ import annotations

import csv
from array import array
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pipeline.contract.quantities import Refusal
from pipeline.reading.dialect import Text

LONGEST: Final = 10_000
"""Most characters of one cell: a page of notes is under 5,000."""
_WIDEST: Final = 300_000  # characters in one row: with four bytes each still under the database's limit


@dataclass(frozen=True, slots=True)
class Tidied:
    """A file put in order: the line of each row, and (row or None, line, refusal) for what is wrong."""

    lines: array[int]
    faults: list[tuple[int | None, int, Refusal]]


def tidy(records: Iterable[tuple[int, list[str] | Refusal]], width: int, path: Path) -> Tidied:
    """Write records (first line, cells) as plain CSV with ``width`` cells each to ``path``; empty ones are skipped."""
    lines: array[int] = array("L")
    faults: list[tuple[int | None, int, Refusal]] = []
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        for line, cells in records:
            if isinstance(cells, Refusal):
                faults.append((None, line, cells))
            elif together := "".join(cells).strip(" "):
                lines.append(line)
                if len(cells) == width and len(together) < LONGEST:
                    writer.writerow(cells)
                    continue
                kept, wrong = _fitted(cells, width)
                writer.writerow(kept)
                faults += [(len(lines), line, refusal) for refusal in wrong]
    return Tidied(lines, faults)


def records_of(text: Text) -> Iterator[tuple[int, list[str] | Refusal]]:
    """The records under a text's header with their first lines; a record with broken quotes is a refusal."""
    with text.opened() as file:
        for _ in range(text.header_line):
            next(file, None)
        reader = csv.reader(file, delimiter=text.separator, skipinitialspace=True, strict=True)
        while True:
            line = text.header_line + reader.line_num + 1
            try:
                yield line, next(reader)
            except StopIteration:
                return
            except csv.Error as fault:
                yield line, _broken(str(fault), text.header_line + reader.line_num)


def _fitted(cells: list[str], width: int) -> tuple[list[str], list[Refusal]]:
    beyond = [cell for cell in cells[width:] if cell.strip()]
    wrong = [_too_many(len(cells), width, beyond[0])] if beyond else []
    kept = [cell if len(cell) <= LONGEST else "" for cell in cells[:width]]
    long = sum(len(cell) > LONGEST for cell in cells[:width])
    if long or sum(map(len, kept)) > _WIDEST:
        reason = f"a cell holds more than {LONGEST} characters, or the row more than {_WIDEST}"
        wrong.append(Refusal("cell-length", reason, 'look for a quote (") that is opened and not closed'))
        kept = [cell[:100] for cell in kept]
    return kept + [""] * (width - len(kept)), wrong


def _too_many(found: int, width: int, first: str) -> Refusal:
    reason = f"the row has {found} cells, {found - width} more than the header; {first[:40]!r} stands beyond it"
    fix = 'put a cell that holds the separator into double quotes ("white, clean"), or delete the extra cell'
    return Refusal("row-too-long", reason, fix)


def _broken(fault: str, last: int) -> Refusal:
    if "unexpected end" in fault:
        reason = f"a quote is opened here and never closed, up to the end of the file (line {last})"
    elif "field limit" in fault:
        reason = f"a cell runs on for more than {csv.field_size_limit()} characters"
    else:
        reason = "something stands behind a closing quote in the same cell"
    return Refusal("quotes", reason, 'close the quote, and write a quote inside a quoted cell twice ("")')
