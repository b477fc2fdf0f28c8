"""What a person typed in a cell: the text and its unit, read again from the file where a slip is looked for."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from functools import cached_property, partial
from pathlib import Path

from pipeline.contract.columns import Log
from pipeline.reading.encoding_and_separator import Text, look
from pipeline.reading.headers import headings, known_names, layout
from pipeline.reading.record_reader import Lines, record_from

_WORDS = re.compile(r"(kg|g|oz|lb)\b", re.IGNORECASE)


class TypedCells:
    """The cells of one log's text file by the physical line on which their record starts."""

    def __init__(self, log: Log, file: Path, lines: Collection[int]) -> None:
        """``lines``: those on which a record starts that will be asked for. Nothing is read before one is."""
        self._log, self._file, self._lines = log, file, lines

    @cached_property
    def _text(self) -> Text | None:
        return look(self._file, partial(known_names, self._log))[0]

    @cached_property
    def _records(self) -> dict[int, Sequence[str]]:
        if self._text is None:
            return {}
        laid_out = layout(self._log, self._text.header, self._text.separator)
        found, at = dict[int, Sequence[str]](), 1
        with self._text.opened() as text:
            lines = Lines(text)
            for line in sorted(self._lines):
                if line < at:  # inside the record before: the file is not the one that was read
                    continue
                lines.skip(line - at)
                if (first := lines.take()) is None:
                    break
                record = record_from(first, lines, laid_out, line, 0)
                found[line] = record.cells
                at = line + record.lines
        return found

    @cached_property
    def _columns(self) -> dict[str, tuple[int, str | None]]:
        """Where each column stands, by its name without a unit, and that unit."""
        named = headings(self._log, self._text.header)[0] if self._text else []
        return {h.column.name: (h.cell, h.unit) for h in named if h.column}

    def cell(self, line: int, column: str) -> tuple[str, str | None] | None:
        """Text and unit of a mass cell (unit None: neither cell nor header has one); None where there is no such cell."""
        place, unit = self._columns.get(column, (None, None))
        cells = self._records.get(line, ())
        if place is None or place >= len(cells) or not cells[place]:
            return None
        own = _WORDS.search(cells[place])
        return cells[place], own[1].lower() if own else unit
