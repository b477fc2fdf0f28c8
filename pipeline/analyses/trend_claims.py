"""Which of all that a book's trend could say is said: one family of statements, held together at 5 %.

Holm (1979), Scandinavian Journal of Statistics 6:65, with weights: the smallest p for its weight is held against the whole
level's share of its weight, the next against what the weights left share, and so on to the first that fails.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.analyses.control_limits import Chart, Signal
from pipeline.analyses.filters_keeping_wax import Leak
from pipeline.analyses.last_season_against_earlier import Shift
from pipeline.analyses.season_slope import FittedLine

LEVEL = 0.05
WEIGHTS = {"season": 4.0, "slope": 1.0, "refining": 1.0, "limit": 1.0, "leak": 1.0}
"""The season is what a keeper asks first, so half of the level is its own; the rest is shared: a judgement."""


@dataclass(frozen=True, slots=True)
class Outlying:
    """Passes of one kind that lost more or less than the kind's others explain."""

    chart: Chart
    passes: tuple[Signal, ...]


Facts = Shift | FittedLine | Outlying | Leak


@dataclass(frozen=True, slots=True)
class Claim:
    """Something that may be said: what kind of change, its chance if nothing changed, and the figures behind it."""

    kind: str
    p: float
    facts: Facts


def held(candidates: Iterable[Claim], level: float = LEVEL) -> tuple[Claim, ...]:
    """The candidates that may be said, those of one kind sharing the kind's weight; in the order that they came in."""
    family = list(candidates)
    kinds = [c.kind for c in family]
    weights = [WEIGHTS[c.kind] / kinds.count(c.kind) for c in family]
    left, kept = sum(weights), set()
    for i in sorted(range(len(family)), key=lambda i: (family[i].p / weights[i], i)):
        if family[i].p > level * weights[i] / left:
            break
        kept.add(i)
        left -= weights[i]
    return tuple(c for i, c in enumerate(family) if i in kept)


def outlying(charts: Iterable[Chart]) -> list[Claim]:
    """One candidate for each kind of pass with limits; all its passes together count as one question."""
    found = []
    for chart in charts:
        beyond = sorted(((s.p, s) for s in chart.signals if s.p is not None), key=lambda b: b[0])
        if chart.state != "none":
            first = beyond[0][0] if beyond else 1.0
            told = tuple(s for p, s in beyond if p <= LEVEL)
            found.append(Claim("limit", first, Outlying(chart, told)))
    return found
