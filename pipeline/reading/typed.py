"""What a person typed in a cell: the text and its unit, read again from the file where a slip is looked for."""

from __future__ import annotations

import csv
import io
import re
from functools import cached_property
from pathlib import Path

_UNIT = re.compile(r"_(kg|g|oz|lb)$")
_WORDS = re.compile(r"(kg|g|oz|lb)\b", re.IGNORECASE)


class TypedCells:
    """The cells of one log's text file by the physical line on which their record starts."""

    def __init__(self, file: Path) -> None:
        """Nothing is read before it is asked for."""
        self._file = file

    @cached_property
    def _records(self) -> dict[int, list[str]]:
        text = _decoded(self._file.read_bytes())
        first = text.split("\n", 1)[0]
        mark = max(",;\t", key=first.count)
        found: dict[int, list[str]] = {}
        before = 0
        reader = csv.reader(io.StringIO(text), delimiter=mark, skipinitialspace=True)
        for cells in reader:
            if any(cell.strip() for cell in cells):
                found[before + 1] = [cell.strip() for cell in cells]
            before = reader.line_num
        return found

    def cell(self, line: int, column: str) -> tuple[str, str | None] | None:
        """Text and unit of a mass cell (unit None: neither cell nor header has one); None where there is no such cell."""
        for header in self._records.values():
            for place, name in enumerate(header):
                plain = name.lower()
                if _UNIT.sub("", plain) == column:
                    return self._at(line, place, _UNIT.search(plain))
        return None

    def _at(self, line: int, place: int, unit: re.Match[str] | None) -> tuple[str, str | None] | None:
        cells = self._records.get(line, [])
        if place >= len(cells) or not cells[place]:
            return None
        own = _WORDS.search(cells[place])
        return cells[place], own[1].lower() if own else unit[1] if unit else None


def _decoded(raw: bytes) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw.decode("utf-16", "replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace")
