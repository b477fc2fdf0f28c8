"""Tables as CSV files: one kind that a spreadsheet may open without running anything, one whose values are exact."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path
from typing import Any

RUNS = ("=", "+", "-", "@")
"""A text that begins with one of these is a formula to a spreadsheet."""


def harmless(value: Any) -> Any:
    """A cell that no spreadsheet runs: such a text gets an apostrophe in front; numbers stay numbers."""
    return f"'{value}" if isinstance(value, str) and value.startswith(RUNS) else value


def write_csv(path: Path, header: Iterable[str], rows: Iterable[Iterable[Any]]) -> None:
    """A CSV file: UTF-8, comma, LF; what is not known is empty, dates are ISO, truth is yes or no."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows([_text(value) for value in row] for row in rows)


def _text(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value) if isinstance(value, float) else value
