"""One old sheet's lines read one after another, by what its columns are taken for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date

from pipeline.contract.quantities import Dimension, Refusal
from pipeline.old_records.column_matching import Answers, ColumnMeaning
from pipeline.old_records.date_order_and_units import Order, measure_text
from pipeline.old_records.old_sheet import OldSheet, SheetLine
from pipeline.old_records.proposal_and_questions import Proposal


@dataclass(frozen=True, slots=True)
class Skipped:
    """A line that is taken over as no row, and why."""

    line: int
    why: str


@dataclass(slots=True)
class LineReader:
    """One sheet's lines read one after another, with what lines above still say to those below."""

    sheet: OldSheet
    proposal: Proposal
    answers: Answers
    more: Mapping[str, tuple[str, ...]]
    order: Order
    names: Callable[[str, int], str]
    known: frozenset[int]
    skipped: list[Skipped] = field(default_factory=list)
    sums: set[int] = field(default_factory=set)
    day: date | None = None

    def cell(self, line: SheetLine, meaning: str, number: int | None = None) -> str:
        """What a line says under the column of that meaning (of that pass); empty where there is none."""
        column = self.proposal.of(meaning, number)
        return line.cell(column.place) if column else ""

    def mass(self, line: SheetLine, column: ColumnMeaning | None) -> str | Refusal:
        """A weight with its unit, the ounces right of it added; empty where nothing was weighed."""
        text = line.cell(column.place) if column else ""
        if column is None or text in ("", "-", "–", "?", "n/a"):
            return ""
        told = measure_text(text, Dimension.MASS, column.unit, self.proposal.marks)
        after = next((c for c in self.proposal.columns if c.place == column.place + 1 and c.meaning == "ounces"), None)
        ounces = line.cell(after.place) if after else ""
        return f"{told} {ounces} oz" if ounces and not isinstance(told, Refusal) else told

    def skip(self, line: SheetLine, why: str) -> None:
        """Leave a line out, with the reason."""
        self.skipped.append(Skipped(line.number, why))
