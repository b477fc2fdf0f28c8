"""Old records made ready to be shown: read, proposed, worked out into rows, what was taken over before left out."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from pipeline.contract.quantities import Dimension, Refusal, read_quantity
from pipeline.old_records.column_matching import MASSES, Answers
from pipeline.old_records.old_sheet import OldSheet, read_sheet
from pipeline.old_records.proposal_and_questions import Proposal, propose
from pipeline.old_records.proposed_rows import InTheBook, Row, TakenRows, taken

LOGS = ("harvests", "loads", "passes", "blocks")


@dataclass(frozen=True, slots=True)
class Prepared:
    """A sheet ready to be shown: what it is taken for, what it comes to, what is known of it already.

    ``comb_g`` and ``wax_g``: what the new sessions took and gave, where both were weighed.
    """

    file: Path
    sheet: OldSheet
    proposal: Proposal
    answers: Answers
    taken: TakenRows
    known: int
    marks: frozenset[str]
    comb_g: float
    wax_g: float

    @property
    def rows(self) -> dict[str, list[Row]]:
        """The rows to be written, by log."""
        made: dict[str, list[Row]] = {}
        for log in LOGS:
            for thing in self.taken.things:
                made.setdefault(log, []).extend({k: v for k, v in row.items() if v} for row in thing.rows.get(log, ()))
        return {log: rows for log, rows in made.items() if rows}


def prepare(file: Path, answers: Answers, there: InTheBook) -> Prepared | Refusal:
    """Read a sheet and work out what it comes to with these answers; nothing is written. Raises MachineFault."""
    sheet = read_sheet(file)
    if isinstance(sheet, Refusal):
        return sheet
    proposal = propose(sheet, there.book, answers)
    if not any(c.meaning in (*MASSES, "frames") for c in proposal.columns):
        return _nothing_weighed(file, proposal)
    marks = _marks(sheet)
    known = frozenset(line for line, mark in marks.items() if mark in there.marks)
    made = taken(sheet, proposal, answers, there, known)
    if made.sums:  # nothing is asked about a line that only adds up others
        rows = replace(sheet, lines=tuple(line for line in sheet.lines if line.number not in made.sums))
        proposal = replace(proposal, questions=propose(rows, there.book, answers).questions)
    new = frozenset(marks[line.number] for thing in made.things for line in thing.lines)
    prepared = Prepared(file, sheet, proposal, answers, made, len(known), new, 0.0, 0.0)
    comb, wax = _sums(prepared.rows)
    return replace(prepared, comb_g=comb, wax_g=wax)


def _nothing_weighed(file: Path, proposal: Proposal) -> Refusal:
    named = ", ".join(c.heading for c in proposal.columns if c.heading)[:200] or "none"
    return Refusal(
        "file-form",
        f"{file.name}: no column is understood as a weight (headings found: {named})",
        "head the columns with what they hold, such as Date, Comb kg, Wax kg, one line for each melt; where days stand side by "
        "side, turn the table; notes without columns need one for each thing",
    )


def _marks(sheet: OldSheet) -> dict[int, str]:
    """By line the mark that it is known again by: what its cells say under their headings; equal lines by their count."""
    seen: Counter[str] = Counter()
    found = {}
    for line in sheet.lines:
        said = json.dumps(
            sorted((h, c) for h, c in zip(sheet.headings, line.cells, strict=False) if c), ensure_ascii=False
        )
        seen[said] += 1
        found[line.number] = hashlib.sha256(f"old {said} {seen[said]}".encode()).hexdigest()[:32]
    return found


def _sums(rows: Mapping[str, list[Row]]) -> tuple[float, float]:
    """Comb and last wax (g) of the sessions whose comb was weighed."""
    combs = {r["session"]: _grams(r.get("mass", "")) for r in rows.get("loads", ())}
    last = {r["session"]: _grams(r.get("wax_out", "")) for r in rows.get("passes", ())}
    both = [s for s, comb in combs.items() if comb and s in last]
    return float(sum(combs[s] for s in both)), float(sum(last[s] for s in both))


def _grams(text: str) -> Fraction:
    value = read_quantity(text, Dimension.MASS)
    return Fraction(0) if isinstance(value, Refusal) else value
