"""What was answered so far, as typed: one step back, left open and taken up again, told as rows for the logs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from pipeline.contract.columns import SUFFIXES, Column
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import read_number, shown_unit
from pipeline.recording.log_layout import book_unit
from pipeline.recording.offers import Offers

Spot = tuple[str, int, str]
"""A log, the number of a row in the entry (1 = first), and a column; column ``more`` asks for another row."""


YES, NO = "yes", "no"
_YES, _NO = ("yes", "y", "true", "1", "ok"), ("no", "n", "false", "0")


def yes_or_no(text: str) -> str | None:
    """``yes`` or ``no``, however it was typed; None where it is neither. Every such answer is read here."""
    said = text.strip().lower().rstrip(".!")
    return YES if said in _YES else NO if said in _NO else None


def agreed(question: str, usual: str, ask: Callable[[str], str], say: Callable[[str], None]) -> bool:
    """Whether a question is answered by yes; asked until it is yes or no, ``usual`` for Enter."""
    while True:
        typed = ask(f"{question} [{usual}] ").strip()
        if said := yes_or_no(typed or usual):
            return said == YES
        say("  answer yes or no")


@dataclass(frozen=True)
class Draft:
    """What was answered so far, as typed, in order; ``kept`` remembers answers that were stepped back over."""

    kind: str
    answers: Mapping[Spot, str] = field(default_factory=dict)
    kept: Mapping[Spot, str] = field(default_factory=dict)

    def answered(self, spot: Spot, text: str) -> Draft:
        """With one answer more."""
        return replace(
            self, answers={**self.answers, spot: text}, kept={k: v for k, v in self.kept.items() if k != spot}
        )

    def back(self) -> Draft:
        """Without the last answer, which is kept to be offered again."""
        if not self.answers:
            return self
        *before, (spot, text) = self.answers.items()
        return replace(self, answers=dict(before), kept={**self.kept, spot: text})

    def is_open(self, offers: Offers) -> bool:
        """Whether this is a session still in the melter: no pass yet, or the wax of the last not weighed."""
        if self.kind != "session":
            return False
        if self.answers.get(("passes", 1, "more")) != YES:
            return offers.passes_done.get(self.answers.get(("passes", 1, "session"), "")) is None
        return not self.answers.get(("passes", self.last_pass, "wax_out"))

    @property
    def last_pass(self) -> int:
        """The number of the last pass entered here; 0 where there is none."""
        return max((n for log, n, name in self.answers if log == "passes" and name == "date"), default=0)

    def reopened(self) -> Draft:
        """A session that was left open, back where it goes on: at its first pass, or at the one not weighed."""
        first = ("passes", 1, "more") if not self.last_pass else ("passes", self.last_pass, "date")
        draft = self
        while first in draft.answers:
            draft = draft.back()
        return replace(draft, kept={k: v for k, v in draft.kept.items() if k[2] != "more" and v})

    def rows(self, offers: Offers) -> dict[str, list[dict[str, str]]]:
        """The answers as rows for the logs, each weight with its unit; rows without an answer are left out."""
        found: dict[str, dict[int, dict[str, str]]] = {}
        for (log, n, name), text in self.answers.items():
            if name != "more" and text:
                found.setdefault(log, {}).setdefault(n, {})[name] = with_unit(offers, LOGS[log].column(name), text)
        if self.kind == "session":
            found = _session_rows(found, offers)
        return {log: [row for _, row in sorted(rows.items()) if row] for log, rows in found.items()}


def with_unit(offers: Offers, column: Column, text: str) -> str:
    """A bare number answered to a question that named the book's unit, with that unit."""
    unit = book_unit(offers.book, column)
    bare = column.kind in SUFFIXES and isinstance(read_number(text), Fraction)
    return f"{text} {shown_unit(unit)}" if bare else text


def _session_rows(found: dict[str, dict[int, dict[str, str]]], offers: Offers) -> dict[str, dict[int, dict[str, str]]]:
    """Session and pass numbers written into every row; a session's passes go on from those in the log."""
    session = found.get("passes", {}).get(1, {}).pop("session", "")
    done = offers.passes_done.get(session, 0)
    for n, row in found.get("passes", {}).items():
        row.update({"pass": str(done + n)} if row else {})
    for log in ("loads", "passes", "blocks"):
        for row in found.get(log, {}).values():
            row.update({"session": session} if row else {})
    return {log: found[log] for log in ("loads", "passes", "blocks") if log in found}
