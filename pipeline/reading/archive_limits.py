"""What a workbook's archive holds, looked at before the reading library is: its size, how far its cells reach, formulas.

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
_XLSX_WHOLE_CELL: Final = re.compile(r"<(?:\w+:)?c\s([^>]*[^/>])>(.*?)</(?:\w+:)?c>", re.DOTALL)
_XLSX_FORMULA: Final = re.compile(r"<(?:\w+:)?f[\s>/]")
_XLSX_VALUE: Final = re.compile(r"<(?:\w+:)?v(?:\s[^>]*)?>[^<]")
_XLSX_TEXT: Final = re.compile(r"""\bt=["']str["']""")  # the value of such a formula may be no letter at all
_REFERENCE: Final = re.compile(r"""\br=["']([A-Z]{1,9})([0-9]{1,12})["']""")
_ODS_TAG: Final = re.compile(r"<table:(table-row|table-cell|covered-table-cell|table)(?=[\s>/])([^>]*)>(<text:p)?")
_ODS_REPEATED: Final = re.compile(r"""table:number-(?:columns|rows)-repeated=["']([0-9]{1,9})["']""")
_ODS_NAME: Final = re.compile(r"""table:name=["']([^"']*)["']""")


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
    filled = [*(Place(int(row), _number(letters)) for letters, row in _XLSX_CELL.findall(text)), *_filled_ods(text)]
    return Place(max((p.row for p in filled), default=0), max((p.column for p in filled), default=0))


def _filled_ods(text: str) -> Iterator[Place]:
    """The last cell of each run of filled cells; rows and cells that are alike stand once, with a count."""
    row = column = rows = 0
    for kind, attributes, has_text in _ODS_TAG.findall(text):
        repeated = _ODS_REPEATED.search(attributes)
        times = int(repeated[1]) if repeated else 1
        if kind == "table":
            row = rows = 0
        elif kind == "table-row":
            row, rows, column = row + rows, times, 0
        else:
            column += times
            if has_text or "office:value-type" in attributes:
                yield Place(row + rows, column)


def formulas_without_value(parts: ZipFile, sheet: str) -> list[Place]:
    """The cells of a sheet that hold a formula and not what it comes to."""
    if "content.xml" in parts.namelist():
        return list(_empty_ods_formulas(parts.read("content.xml").decode("utf-8", "replace"), sheet))
    part = _part_of(parts, sheet)
    if part is None:
        return []
    cells = _XLSX_WHOLE_CELL.findall(parts.read(part).decode("utf-8", "replace"))
    formulas = ((about, inside) for about, inside in cells if _XLSX_FORMULA.search(inside))
    unvalued = (about for about, inside in formulas if not (_XLSX_VALUE.search(inside) or _XLSX_TEXT.search(about)))
    places = (_REFERENCE.search(f" {about}") for about in unvalued)
    return [Place(int(place[2]), _number(place[1])) for place in places if place]


def _empty_ods_formulas(text: str, sheet: str) -> Iterator[Place]:
    row = column = rows = 0
    here = False
    for kind, attributes, has_text in _ODS_TAG.findall(text):
        repeated = _ODS_REPEATED.search(attributes)
        times = int(repeated[1]) if repeated else 1
        if kind == "table":
            name = _ODS_NAME.search(attributes)
            row, rows, here = 0, 0, bool(name and name[1] == sheet)
        elif kind == "table-row":
            row, rows, column = row + rows, times, 0
        else:
            column += times
            if here and "table:formula" in attributes and "office:value-type" not in attributes and not has_text:
                yield Place(row + 1, column)


def _part_of(parts: ZipFile, sheet: str) -> str | None:
    """The part of an XLSX file that holds the sheet of this name."""
    names = parts.namelist()
    if "xl/workbook.xml" not in names or "xl/_rels/workbook.xml.rels" not in names:
        return None
    listed = re.findall(r"<(?:\w+:)?sheet\s[^>]*>", parts.read("xl/workbook.xml").decode("utf-8", "replace"))
    links = re.findall(r"<Relationship\s[^>]*>", parts.read("xl/_rels/workbook.xml.rels").decode("utf-8", "replace"))
    target = {_attribute(link, "Id"): _attribute(link, "Target") for link in links}
    chosen = next((_attribute(s, "r:id") for s in listed if _attribute(s, "name") == sheet), "")
    path = target.get(chosen, "").lstrip("/")
    path = path if path.startswith("xl/") else f"xl/{path}"
    return path if path in names else None


def _attribute(tag: str, name: str) -> str:
    found = re.search(rf"""\s{name}=["']([^"']*)["']""", tag)
    return found[1] if found else ""


def _number(letters: str) -> int:
    """A column's number: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number
