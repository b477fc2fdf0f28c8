"""What a workbook's archive holds, looked at before the reading library does: its size, and how far its cells reach.

An XLSX or ODS file is a ZIP archive of XML. The library makes room for the whole rectangle of a sheet, and ends the
program where there is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, NamedTuple
from zipfile import ZipFile

from pipeline.contract.quantities import Refusal

MOST_BYTES: Final = 200_000_000
"""Most that all parts of an archive may hold together, unpacked: a log of 100,000 rows has some 50 MB."""
MOST_CELLS: Final = 10_000_000
"""So many cells, at some 30 bytes each, still fit into the memory of a small machine."""

_CHUNK: Final = 1 << 20
_XLSX_CELL: Final = re.compile(r"""<(?:\w+:)?c\s[^>]*?\br=["']([A-Z]{1,9})([0-9]{1,12})["']""")
ODS_TAG: Final = re.compile(r"<table:(table-row|table-cell|covered-table-cell|table)(?=[\s>/])([^>]*)>(<text:p)?")
ODS_REPEATED: Final = re.compile(r"""table:number-(?:columns|rows)-repeated=["']([0-9]{1,9})["']""")


class Place(NamedTuple):
    """A cell of a sheet, both counted from 1."""

    row: int
    column: int


def too_large(parts: ZipFile, name: str) -> Refusal | None:
    """Why an archive is not read; None where it may be. Its parts are unpacked to be measured, and kept nowhere."""
    total = sum(part.file_size for part in parts.infolist())
    if total <= MOST_BYTES:
        total = max(total, _unpacked(parts))
    if total > MOST_BYTES:
        reason = (
            f"{name} holds {total / 1e6:,.0f} MB when unpacked, and {MOST_BYTES / 1e6:.0f} MB were expected at most"
        )
        return Refusal("file-form", reason, "save the log as CSV")
    places = map(_furthest, _sheets(parts))
    far = next((place for place in places if place.row * place.column > MOST_CELLS), None)
    if far is None:
        return None
    where = f"column {far.column}, row {far.row}"
    reason = f"the sheet of {name} reaches to {where}, and a log of some thousand rows and 20 columns was expected"
    return Refusal("file-form", reason, "delete what stands far from the rows, or save it as CSV")


def _unpacked(parts: ZipFile) -> int:
    """The bytes that all parts really hold."""
    total = 0
    for part in parts.infolist():
        with parts.open(part) as unpacked:
            while chunk := unpacked.read(_CHUNK):
                total += len(chunk)
    return total


def _sheets(parts: ZipFile) -> Iterator[str]:
    for part in parts.namelist():
        if part.startswith("xl/worksheets/") or part == "content.xml":
            yield parts.read(part).decode("utf-8", "replace")


def _furthest(text: str) -> Place:
    """The corner of the rectangle of all filled cells of a sheet (of all sheets of an ODS file)."""
    filled = [
        *(Place(int(row), column_number(letters)) for letters, row in _XLSX_CELL.findall(text)),
        *_filled_ods(text),
    ]
    return Place(max((p.row for p in filled), default=0), max((p.column for p in filled), default=0))


def _filled_ods(text: str) -> Iterator[Place]:
    """The last cell of each run of filled cells; rows and cells that are alike stand once, with a count."""
    row = column = rows = 0
    for kind, attributes, has_text in ODS_TAG.findall(text):
        repeated = ODS_REPEATED.search(attributes)
        times = int(repeated[1]) if repeated else 1
        if kind == "table":
            row = rows = 0
        elif kind == "table-row":
            row, rows, column = row + rows, times, 0
        else:
            column += times
            if has_text or "office:value-type" in attributes:
                yield Place(row + rows, column)


def column_number(letters: str) -> int:
    """A column's number: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number
