"""What a person typed in a cell: the text and its unit, read again from the file where a slip is looked for."""

from __future__ import annotations

import csv
import io
import re
from functools import cached_property, partial
from pathlib import Path

from pipeline.contract.columns import Log
from pipeline.reading.dialect import Text, look
from pipeline.reading.headers import headings, known_names

_WORDS = re.compile(r"(kg|g|oz|lb)\b", re.IGNORECASE)


class TypedCells:
    """The cells of one log's text file by the physical line on which their record starts."""

    def __init__(self, log: Log, file: Path) -> None:
        """Nothing is read before it is asked for."""
        self._log, self._file = log, file

    @cached_property
    def _text(self) -> Text | None:
        return look(self._file, partial(known_names, self._log), None)[0]

    @cached_property
    def _mark(self) -> str:
        return self._text.separator if self._text else ","

    @cached_property
    def _lines(self) -> list[str]:
        if self._text is None:
            return []
        with self._text.opened() as text:
            return text.read().split("\n")

    @cached_property
    def _records(self) -> dict[int, list[str]] | None:
        """Every record, where some may reach over several lines; None where each line is one."""
        if not any('"' in line for line in self._lines):
            return None
        found: dict[int, list[str]] = {}
        before = 0
        reader = csv.reader(io.StringIO("\n".join(self._lines)), delimiter=self._mark, skipinitialspace=True)
        for cells in reader:
            found[before + 1] = [cell.strip() for cell in cells]
            before = reader.line_num
        return found

    def _record(self, line: int) -> list[str]:
        if self._records is not None:
            return self._records.get(line, [])
        return [cell.strip() for cell in self._lines[line - 1].split(self._mark)] if line <= len(self._lines) else []

    @cached_property
    def _columns(self) -> dict[str, tuple[int, str | None]]:
        """Where each column stands, by its name without a unit, and that unit."""
        named = headings(self._log, self._text.header)[0] if self._text else []
        return {h.column.name: (h.cell, h.unit) for h in named if h.column}

    def cell(self, line: int, column: str) -> tuple[str, str | None] | None:
        """Text and unit of a mass cell (unit None: neither cell nor header has one); None where there is no such cell."""
        place, unit = self._columns.get(column, (None, None))
        cells = self._record(line)
        if place is None or place >= len(cells) or not cells[place]:
            return None
        own = _WORDS.search(cells[place])
        return cells[place], own[1].lower() if own else unit
