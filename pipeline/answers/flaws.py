"""What went wrong in poured batches, why, and whether the book's own pours agree."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from pipeline.analyses import flaw_evidence
from pipeline.analyses.flaw_evidence import Evidence, Factor, Poured
from pipeline.answers.candle_thresholds import thresholds
from pipeline.contract import shipped_files
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Flaw:
    """One flaw: in how many poured batches, its usual cause and cure, and the factor that parts the book's pours best."""

    flaw: str
    batches: int
    cause: str
    change: str
    evidence: Evidence | None


@dataclass(frozen=True, slots=True)
class FlawsAnswer:
    """The flaws that occurred, most frequent first, of ``poured`` batches; ``free``: batch and words that count as other.

    ``level``: chance alone may name a cause in so many books.
    """

    flaws: tuple[Flaw, ...]
    poured: int
    free: tuple[tuple[str, str], ...]
    level: float

    def in_json(self) -> list[dict[str, Any]]:
        """For other programs; ``p`` is after Holm, ``p_alone`` before."""
        told = ("flaw", "batches", "cause", "change", "evidence")
        return [{name: getattr(f, name) for name in told} for f in self.flaws]

    @property
    def confirmed(self) -> tuple[Flaw, ...]:
        """Those whose best factor stands out after Holm's correction over all that was tested."""
        return tuple(f for f in self.flaws if f.evidence and f.evidence.p < self.level)


def flaws(loaded: Loaded) -> FlawsAnswer:
    """The flaws of the batches poured up to today."""
    known = {r["flaw"]: r for r in shipped_files.reference("flaw_causes")}
    rows = loaded.warehouse.ask("pours_by_flaws_and_conditions")
    named = {text: flaw_evidence.words(text, tuple(known)) for text in {r["flaws"] for r in rows}}
    pours = [Poured(named[r["flaws"]][0], r, r["batches"]) for r in rows]
    limits = thresholds()
    found = flaw_evidence.evidence(pours, factors(), int(limits["fewest_batches"]))
    counts = Counter[str]()
    for p in pours:
        counts.update(dict.fromkeys(p.flaws, p.batches))
    told = [Flaw(f, counts[f], known[f]["cause"], known[f]["change"], found.get(f)) for f in known if counts[f]]
    logged = sorted((*batch, r["flaws"]) for r in rows for batch in r["logged"])
    free = tuple((batch, words) for _, batch, text in logged for words in named[text][1])
    poured = sum(p.batches for p in pours)
    return FlawsAnswer(tuple(sorted(told, key=lambda f: -f.batches)), poured, free, limits["flaw_level"])


def known_flaws() -> tuple[str, ...]:
    """The trade's words for what can go wrong."""
    return tuple(r["flaw"] for r in shipped_files.reference("flaw_causes"))


def cures(logged: str | None) -> tuple[str, ...]:
    """What to change for the flaws logged of a batch; nothing for a natural bloom and for words of one's own."""
    found = flaw_evidence.words(logged, known_flaws())[0] - {flaw_evidence.NO_FAULT, flaw_evidence.OTHER}
    return tuple(r["change"] for r in shipped_files.reference("flaw_causes") if r["flaw"] in found)


def factors() -> list[Factor]:
    """The fixed cuts that pours are parted by."""
    return [
        Factor(r["factor"], r["measure"], _number(r["above"]), _number(r["below"]))
        for r in shipped_files.reference("flaw_factors")
    ]


def _number(cell: Any) -> float | None:
    return float(cell) if cell else None
