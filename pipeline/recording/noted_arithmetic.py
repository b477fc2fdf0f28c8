"""A weight that was typed as a sum or a difference: what was typed goes into the notes of its row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.contract.columns import CellKind, Log
from pipeline.contract.weight_arithmetic import is_sum
from pipeline.reading.headers import named

_BETWEEN = "; "  # notes that were there, and what is added to them


def with_sums_noted(log: Log, row: Mapping[str, str], notes_before: str = "") -> Mapping[str, str]:
    """The row, with each sum typed in it added to its notes; ``notes_before`` are those that the row has already."""
    typed = list(_sums(log, row))
    if not typed:
        return row
    notes = next((name for name in row if (meant := named(log, name)) and meant[0].name == "notes"), "notes")
    told = [row.get(notes, notes_before).strip(), *typed]
    return {**row, notes: _BETWEEN.join(text for text in told if text)}


def holds_sums_alone(log: Log, notes: str) -> bool:
    """Whether nobody wrote these notes: all that stands in them are weights that were typed as sums."""
    parted = [part.partition(": ") for part in notes.split(_BETWEEN)]
    masses = {column.name for column in log.columns if column.kind is CellKind.MASS}
    return all(name in masses and is_sum(typed) for name, _, typed in parted)


def _sums(log: Log, row: Mapping[str, str]) -> Iterator[str]:
    for name, text in row.items():
        meant = named(log, name)
        if meant and meant[0].kind is CellKind.MASS and is_sum(str(text)):
            yield f"{meant[0].name}: {str(text).strip()}"
