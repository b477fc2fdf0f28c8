"""Logs kept as spreadsheets (XLSX, ODS): the sheet's typed cells as the text that a person would have typed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import TypeAlias

from pipeline.findings import MachineFault
from pipeline.quantities import Refusal

Cell: TypeAlias = object


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
        book = CalamineWorkbook.from_filelike(BytesIO(data))
        names = [n for n in book.sheet_names if n.strip().lower() == name] or book.sheet_names[:1]
        rows = book.get_sheet_by_name(names[0]).to_python(skip_empty_area=False) if names else []
    except (CalamineError, ValueError, OSError) as fault:
        return Refusal("file-form", f"{path.name} cannot be opened as a workbook ({fault})", "save it again as XLSX")
    return [list(row) for row in rows]


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
