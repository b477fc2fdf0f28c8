"""Tables as one workbook, a sheet each, the same bytes every time."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from pipeline.contract.findings import MachineFault
from pipeline.export.csv_files import harmless

MOST_ROWS = 1_048_576
"""Rows of a sheet (ECMA-376, SpreadsheetML), its header among them."""

_SHEET_NAME = 31
"""Characters of a sheet's name that spreadsheets allow."""

_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
"""Characters that XML 1.0 cannot hold."""


def write_workbook(path: Path, sheets: Iterable[tuple[str, list[str], list[list[Any]]]]) -> None:
    """A workbook of (name, header, rows). Raises MachineFault where a table is longer than a sheet or openpyxl is missing."""
    try:
        import openpyxl
    except ImportError as fault:
        raise MachineFault("workbooks need the xlsx extra: pip install 'combtally[xlsx]'") from fault
    book = openpyxl.Workbook(write_only=True)
    book.properties.created = datetime(2000, 1, 1)
    for name, header, rows in sheets:
        if len(rows) >= MOST_ROWS:
            raise MachineFault(f"{name} has {len(rows):,} rows, more than a sheet holds; export as csv or parquet")
        sheet = book.create_sheet(name[:_SHEET_NAME])
        sheet.freeze_panes = "A2"
        sheet.append(header)
        for row in rows:
            sheet.append([_cell(value) for value in row])
    made = io.BytesIO()
    book.save(made)
    path.write_bytes(_timeless(made.getvalue()))


def _cell(value: Any) -> Any:
    value = harmless(value)
    return _NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", value) if isinstance(value, str) else value


def _timeless(data: bytes) -> bytes:
    """The same archive without the hour at which it was made."""
    out = io.BytesIO()
    with ZipFile(io.BytesIO(data)) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        for name in sorted(old.namelist()):
            part = old.read(name)
            if name == "docProps/core.xml":
                part = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2000-01-01T00:00:00Z", part)
            new.writestr(ZipInfo(name), part, ZIP_DEFLATED)
    return out.getvalue()
