"""Cells of a workbook that hold a formula without a saved value, which the reading library gives as empty."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final
from zipfile import ZipFile

from pipeline.reading.archive_limits import ODS_REPEATED, ODS_TAG, Place, column_number

_XLSX_WHOLE_CELL: Final = re.compile(r"<(?:\w+:)?c\s([^>]*[^/>])>(.*?)</(?:\w+:)?c>", re.DOTALL)
_XLSX_FORMULA: Final = re.compile(r"<(?:\w+:)?f[\s>/]")
_XLSX_VALUE: Final = re.compile(r"<(?:\w+:)?v(?:\s[^>]*)?>[^<]")
_XLSX_TEXT: Final = re.compile(r"""\bt=["']str["']""")  # the value of such a formula may be no letter at all
_REFERENCE: Final = re.compile(r"""\br=["']([A-Z]{1,9})([0-9]{1,12})["']""")
_ODS_NAME: Final = re.compile(r"""table:name=["']([^"']*)["']""")


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
    return [Place(int(place[2]), column_number(place[1])) for place in places if place]


def _empty_ods_formulas(text: str, sheet: str) -> Iterator[Place]:
    row = column = rows = 0
    here = False
    for kind, attributes, has_text in ODS_TAG.findall(text):
        repeated = ODS_REPEATED.search(attributes)
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
