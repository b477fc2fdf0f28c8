"""Logs kept as spreadsheets (XLSX, ODS): the sheet's typed cells as the text that a person would have typed."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, TypeVar
from zipfile import BadZipFile, ZipFile

from pipeline.contract.findings import MachineFault
from pipeline.contract.quantities import Refusal
from pipeline.reading.archive_limits import Place, too_large
from pipeline.reading.workbook_formulas import formulas_without_value

if TYPE_CHECKING:
    from python_calamine import CalamineWorkbook

Cell: TypeAlias = object
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Sheet:
    """The sheet of a workbook that was read: its rows from the first line on, and what was found of the workbook.

    ``unread`` are other sheets with something in them, ``unvalued`` cells with a formula and no value.
    """

    rows: list[list[Cell]]
    unread: tuple[str, ...] = ()
    unvalued: tuple[Place, ...] = ()


def sheet(path: Path, name: str) -> Sheet | Refusal:
    """The sheet called ``name`` (or the first), or why it is not read.

    Raises MachineFault where the machine forbids the reading.
    """

    def chosen(book: CalamineWorkbook, parts: ZipFile) -> Sheet:
        named = ([n for n in book.sheet_names if n.strip().lower() == name] or book.sheet_names)[:1]
        if not named:
            return Sheet([])
        unread = [n for n in book.sheet_names if n != named[0] and book.get_sheet_by_name(n).to_python()]
        return replace(_sheet(book, parts, named[0]), unread=tuple(unread))

    return _opened(path, chosen)


def all_sheets(path: Path) -> dict[str, Sheet] | Refusal:
    """Every sheet of a workbook by its name, or why none is read. Raises MachineFault."""
    return _opened(path, lambda book, parts: {name: _sheet(book, parts, name) for name in book.sheet_names})


def _sheet(book: CalamineWorkbook, parts: ZipFile, name: str) -> Sheet:
    rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False)
    return Sheet([list(row) for row in rows], unvalued=tuple(formulas_without_value(parts, name)))


def _opened(path: Path, read: Callable[[CalamineWorkbook, ZipFile], T]) -> T | Refusal:
    """What is read of a workbook, its archive looked at before."""
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        data = path.read_bytes()
    except OSError as fault:
        raise MachineFault(f"{path.name} cannot be read: {fault.strerror}") from fault
    try:
        with ZipFile(BytesIO(data)) as parts:
            if refusal := too_large(parts, path.name):
                return refusal
            return read(CalamineWorkbook.from_filelike(BytesIO(data)), parts)
    except (
        CalamineError,
        BadZipFile,
        zlib.error,
        NotImplementedError,
        ValueError,
        OSError,
        RuntimeError,
        EOFError,
    ) as fault:
        return Refusal("file-form", f"{path.name} cannot be opened as a workbook ({fault})", "save it again as XLSX")


def sheet_rows(path: Path, name: str) -> list[list[Cell]] | Refusal:
    """The rows of that sheet alone."""
    found = sheet(path, name)
    return found if isinstance(found, Refusal) else found.rows


def as_typed(cell: Cell) -> str:
    """A cell's value as text: 12.0 as ``12``, a date as ``2025-08-14``, 2:30 as ``150 min``, true as ``yes``."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return _digits(cell)
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time):  # a spreadsheet's form of 2:30
        cell = timedelta(hours=cell.hour, minutes=cell.minute, seconds=cell.second)
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
