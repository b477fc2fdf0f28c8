"""Whether a book's own pours agree with what is said to cause a flaw: Fisher's exact test, Holm over all pairs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import comb

from pipeline.contract.columns import JOINED
from pipeline.contract.several_in_one_cell import flaw_stem

OTHER, NO_FAULT = "other", "bloom"
"""What free text counts as, and what is natural and no fault: neither is set against anything."""


@dataclass(frozen=True, slots=True)
class Factor:
    """A cut that parts pours: those whose ``measure`` lies above (or below) a figure, and the rest."""

    factor: str
    measure: str
    above: float | None
    below: float | None

    def has(self, measures: Mapping[str, float | None]) -> bool | None:
        """Whether a pour has it; None where nobody measured."""
        value = measures.get(self.measure)
        if value is None:
            return None
        return (self.above is not None and value > self.above) or (self.below is not None and value < self.below)


@dataclass(frozen=True, slots=True)
class Poured:
    """Poured batches alike: their flaws, what was measured of pour, vessel, wick and recipe, and how many they are."""

    flaws: frozenset[str]
    measures: Mapping[str, float | None]
    batches: int = 1


@dataclass(frozen=True, slots=True)
class Evidence:
    """Pours with and without a factor: [flawed, all]; ``p_alone`` is Fisher's p, ``p`` that after Holm."""

    factor: str
    with_: tuple[int, int]
    without: tuple[int, int]
    p_alone: float
    p: float


def words(text: str | None, known: Sequence[str]) -> tuple[frozenset[str], tuple[str, ...]]:
    """The flaws that a cell names, and what in it is none of the known words and so counts as ``other``."""
    parts = [part.strip() for part in (text or "").split(JOINED.strip()) if part.strip()]
    by_stem = {flaw_stem(word): word for word in known}
    named = {by_stem[flaw_stem(part)] for part in parts if flaw_stem(part) in by_stem}
    free = tuple(part for part in parts if flaw_stem(part) not in by_stem)
    return frozenset(named | ({OTHER} if free else set())), free


def evidence(pours: Sequence[Poured], factors: Sequence[Factor], fewest: int) -> dict[str, Evidence]:
    """For each flaw the factor that parts it best, of all that have ``fewest`` pours on either side.

    Every pair of a flaw and such a factor counts as tested, so Holm's correction runs over all of them.
    """
    flaws = sorted({f for p in pours for f in p.flaws} - {OTHER, NO_FAULT})
    tested = [(flaw, found) for factor in factors for flaw in flaws if (found := _table(pours, flaw, factor, fewest))]
    ranked = sorted(tested, key=lambda t: t[1].p_alone)
    best: dict[str, Evidence] = {}
    p = 0.0
    for place, (flaw, e) in enumerate(ranked):
        p = max(p, min(1.0, (len(ranked) - place) * e.p_alone))
        best.setdefault(flaw, Evidence(e.factor, e.with_, e.without, e.p_alone, p))
    return best


def _table(pours: Sequence[Poured], flaw: str, factor: Factor, fewest: int) -> Evidence | None:
    flawed, every = Counter[bool](), Counter[bool]()
    for pour in pours:
        has = factor.has(pour.measures)
        if has is not None:
            every[has] += pour.batches
            flawed[has] += pour.batches * (flaw in pour.flaws)
    (a, n), (b, m) = ((flawed[side], every[side]) for side in (True, False))
    if min(n, m) < fewest:
        return None
    p = fisher(a, n, b, m)
    return Evidence(factor.factor, (a, n), (b, m), p, p)


def fisher(a: int, n: int, b: int, m: int) -> float:
    """Fisher's exact test, two-sided: ``a`` of ``n`` against ``b`` of ``m``; every table no likelier than this one.

    In whole numbers, so that equally likely tables count as equal.
    """
    flawed = a + b
    ways = [comb(n, i) * comb(m, flawed - i) for i in range(max(0, flawed - m), min(n, flawed) + 1)]
    seen = comb(n, a) * comb(m, b)
    return sum(w for w in ways if w <= seen) / sum(ways)
