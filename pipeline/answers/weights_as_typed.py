"""Where the mass cells of a book's files are, and what stands in them."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.analyses.step_balance import Weight
from pipeline.analyses.typing_slips import Typed, grams
from pipeline.book.book_settings import SHEETS
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import GRAMS
from pipeline.flow import Loaded
from pipeline.reading.cells_as_typed import TypedCells


class TypedWeights:
    """The mass cells of a book's files by line; each file is read once, where asked for."""

    def __init__(self, loaded: Loaded, weights: Sequence[Weight]) -> None:
        self._loaded, self._files = loaded, loaded.files
        self._weights = weights
        self._lines: dict[str, dict[int, int]] = {}
        self._logs: dict[str, TypedCells] = {}

    def line(self, log: str, row: int) -> int | None:
        """The physical line of a row that holds a weight."""
        if log not in self._lines:
            self._lines[log] = self._loaded.lines(log, {w.row for w in self._weights if w.log == log})
        return self._lines[log].get(row)

    def typed(self, weight: Weight) -> Typed:
        """The text and unit of a weight; where the file cannot say, the weight as the book shows it."""
        mass_g, default = weight.mass_g or 0.0, self._loaded.book.show.mass_unit
        line, cells = self.line(weight.log, weight.row), self._cells(weight.log)
        cell = cells.cell(line, weight.column) if cells and line else None
        if cell is not None and cell[1] in GRAMS:
            typed = Typed(cell[0], cell[1] or default)
            read = grams(typed)
            if read is not None and abs(read - mass_g) < 1e-3:
                return typed
        decimals = {"g": 0, "kg": 3, "oz": 2, "lb": 2}[default]
        return Typed(f"{mass_g / GRAMS[default]:.{decimals}f}", default)

    def _cells(self, log: str) -> TypedCells | None:
        """What stands in a log's file; None where that is no text."""
        file = self._files.get(log)
        if file is None or file.suffix.lower() in SHEETS:
            return None
        if log not in self._logs:
            self._logs[log] = TypedCells(LOGS[log], file, set(self._lines[log].values()))
        return self._logs[log]
