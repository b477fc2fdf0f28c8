"""Logs kept as spreadsheets (XLSX, ODS): the sheet's typed cells as the text that a person would have typed."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import TypeAlias
from zipfile import BadZipFile, ZipFile

from pipeline.contract.findings import MachineFault
from pipeline.contract.quantities import Refusal

Cell: TypeAlias = object
_CELLS = 10_000_000
"""So many cells, at some 30 bytes each, still fit into the memory of a small machine."""
_CELL = re.compile(r'<(?:\w+:)?c\s[^>]*?\br="([A-Z]{1,9})([0-9]{1,12})"')


def sheet_rows(path: Path, name: str) -> list[list[Cell]] | Refusal:
    """The rows of the sheet called ``name`` (or of the first), from the sheet's first line on; or why there are none.

    Raises MachineFault where the machine forbids the reading.
    """
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        data = path.read_bytes()
    except IsADirectoryError:
        return Refusal("file-form", "a folder stands where a log's file is expected", "move the folder away")
    except OSError as fault:
        raise MachineFault(f"{path.name} cannot be read: {fault.strerror}") from fault
    try:
        if far := _far_cell(data):
            return _too_far(path, far)
        book = CalamineWorkbook.from_filelike(BytesIO(data))
        names = [n for n in book.sheet_names if n.strip().lower() == name] or book.sheet_names[:1]
        rows = book.get_sheet_by_name(names[0]).to_python(skip_empty_area=False) if names else []
    except (CalamineError, BadZipFile, zlib.error, NotImplementedError, ValueError, OSError) as fault:
        return Refusal("file-form", f"{path.name} cannot be opened as a workbook ({fault})", "save it again as XLSX")
    return [list(row) for row in rows]


def _far_cell(data: bytes) -> str | None:
    """A cell so far from the first of its sheet that all the cells between would not fit into memory; None: all is near.

    The reading library makes room for the whole rectangle, and ends the program where there is none.
    """
    with ZipFile(BytesIO(data)) as parts:
        for part in parts.namelist():
            if not part.startswith("xl/worksheets/"):
                continue
            cells = [(_column(letters), int(row)) for letters, row in _CELL.findall(parts.read(part).decode("latin-1"))]
            if max((c for c, _ in cells), default=0) * max((r for _, r in cells), default=0) > _CELLS:
                column, row = max(cells, key=lambda cell: cell[0] * cell[1])
                return f"column {column}, row {row}"
    return None


def _column(letters: str) -> int:
    """A column's number: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number


def _too_far(path: Path, cell: str) -> Refusal:
    reason = f"the sheet of {path.name} reaches to {cell}, and a log of some thousand rows and 20 columns was expected"
    return Refusal("file-form", reason, "delete what stands far from the rows, or save it as CSV")


def as_typed(cell: Cell) -> str:
    """A cell's value as text: 12.0 as ``12``, a date as ``2025-08-14``, true as ``yes``."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return _digits(cell)
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, timedelta):
        return f"{_digits(cell.total_seconds() / 60)} min"
    return str(cell).replace("\r\n", "\n").replace("\r", "\n").replace("\0", " ")


def _digits(value: float) -> str:
    """The shortest digits that give the same number, without exponent; NaN and infinity as their names."""
    rounded = float(f"{value:.15g}")  # 0.1 + 0.2 as a sheet shows it
    if rounded != rounded or rounded in (float("inf"), float("-inf")):  # noqa: PLR0124 - NaN differs from itself
        return str(rounded)
    return f"{Decimal(repr(rounded)):f}".removesuffix(".0")


def with_lines(rows: list[list[Cell]]) -> Iterator[tuple[int, list[str]]]:
    """Each row's line in the sheet and its cells as text."""
    for line, row in enumerate(rows, start=1):
        yield line, [as_typed(cell) for cell in row]
