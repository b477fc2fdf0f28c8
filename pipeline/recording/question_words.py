"""What questions and summaries call a log's columns: the words of somebody at the scale, not of a file's header."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from pipeline.contract.columns import CellKind, Column
from pipeline.contract.log_columns import LOGS
from pipeline.recording.typed_rows import KINDS
from pipeline.wording.amounts import Units

_SAID = {
    "mass": "weight", "mass_in": "weight in", "mass_before": "weight before", "mass_after": "weight after", "honey_mass": "honey",
    "peak_temp": "hottest", "wax_pct": "beeswax, %", "oil_pct": "oil, %", "scent_pct": "scent, %", "fill_mass": "weight of one",
    "fill_volume": "volume to the fill line", "per_pour": "how many at once", "pour_loss_pct": "pour loss, %",
    "work_time": "work on one",
    "pour_temp": "wax at the pour", "scent_temp": "scent in at", "room_temp": "room", "pool_diameter": "pool across",
    "pool_depth": "pool deep", "flame_height": "flame high", "from_diameter": "smallest candle", "to_diameter": "largest candle",
}  # fmt: skip
"""Columns whose names are not how they are spoken of; any other is called by its name."""
_TO_THE_MINUTE = len("12:40")
_KNOWN_BY = 4
_ISO = re.compile(r"\d{4}-\d\d-\d\d")


def label(column: Column, units: Units) -> str:
    """What a column is called where somebody is asked for it, in the book's spelling."""
    return units.spelled(_SAID.get(column.name, column.name.replace("_", " ")))


def day_as_typed(text: str, units: Units) -> str:
    """A date as a person of this book would type it; any other text, and what is no date, as it stands."""
    try:
        return units.typed_day(date.fromisoformat(text)) if _ISO.fullmatch(text) else text
    except ValueError:
        return text


def in_words(answers: Iterable[str], units: Units) -> str:
    """An entry by its first answers, by which it is known again."""
    return ", ".join([day_as_typed(text, units) for text in answers if text][:_KNOWN_BY])


def moment(when: str, units: Units) -> str:
    """A moment as it was kept, ISO 8601, to the minute and as a person of this book would write it; empty where none was."""
    day, _, time = when.partition("T")
    return f"{day_as_typed(day, units)} at {time[:_TO_THE_MINUTE]}" if time else ""


def summary(rows: Mapping[str, Sequence[Mapping[str, str]]], units: Units) -> list[str]:
    """An entry in lines, one for each row."""
    kinds = {log: kind for kind, log in KINDS.items()}
    return [f"  {kinds[log]}: {', '.join(_cells(log, row, units))}" for log, held in rows.items() for row in held]


def _cells(log: str, row: Mapping[str, str], units: Units) -> Iterator[str]:
    for column in LOGS[log].columns:
        text = row.get(column.name, "")
        shown = day_as_typed(text, units) if column.kind is CellKind.DATE else text
        if text:
            yield shown if column.name in LOGS[log].key[:1] else f"{label(column, units)} {shown}"
