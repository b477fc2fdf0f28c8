"""A batch that was planned and is recorded as poured: its own row takes what was written on the pour sheet."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from pipeline.book.book_toml import read_book
from pipeline.contract.log_columns import LOGS
from pipeline.recording import row_change
from pipeline.recording.log_layout import shape_of
from pipeline.recording.record_and_undo import Outcome, Written

BATCHES = LOGS["batches"]
(KEY,) = BATCHES.key


def was_planned(folder: Path, given: Mapping[str, str]) -> bool:
    """Whether a row to record names a batch that stands in the log as planned, and says that it no longer is."""
    name, status = given.get(KEY, "").strip(), given.get("status", "").strip().lower()
    if not name or status in ("", "planned"):
        return False
    rows = shape_of(read_book(folder)[0], BATCHES).having(KEY, name)
    return [row.get("status", "").strip().lower() for row in rows] == ["planned"]


def take_back(folder: Path, given: Mapping[str, str], today: date, yes: bool) -> Outcome:
    """Change the planned row to what is given; told as the row that was written. Raises MachineFault."""
    cells = {name: value for name, value in given.items() if name != KEY}
    outcome = row_change.change(folder, BATCHES, given[KEY].strip(), cells, today, yes)
    lines = dict.fromkeys(c.line for c in outcome.changed)
    return dataclasses.replace(
        outcome, written=tuple(Written(BATCHES.name, line, given[KEY].strip()) for line in lines)
    )
