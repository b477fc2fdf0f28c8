"""Which wick suits a candle: exact Bayes over the ordered sizes of a family, from readings that are sometimes wrong.

Of n sizes those up to ``lo`` are too small, those over ``hi`` too large, those between right (0 <= lo <= hi <= n). All
pairs are weighed by how many sizes they leave right, and each reading multiplies: right with chance 1 - e, each of the
two wrong readings with e / 2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.analyses.burn_verdicts import Says

Array = npt.NDArray[np.float64]

RIGHT_SIZES = (0.10, 0.35, 0.30, 0.15, 0.10)
"""How likely none, one, two, three, four sizes of a family are right for a candle: a judgement."""


@dataclass(frozen=True, slots=True)
class Wick:
    """One wick of the maker's chart; ranks compare within a family. Lengths in mm."""

    wick: str
    rank: int
    from_mm: float
    to_mm: float
    family: str = ""

    def suits(self, diameter_mm: float) -> bool:
        """Whether the chart gives it for this diameter, both ends included."""
        return self.from_mm <= diameter_mm <= self.to_mm


@dataclass(frozen=True, slots=True)
class Seen:
    """A verdict that counts for a candle: of its own burn, or ``borrowed`` from a candle of another diameter."""

    test: str
    burn: int
    wick: str
    says: Says
    borrowed: bool = False


@dataclass(frozen=True, slots=True)
class Chance:
    """How likely a wick is the right size, not too small, and not too large; they sum to 1."""

    wick: str
    chance: float
    small: float
    large: float


@dataclass(frozen=True, slots=True)
class Choice:
    """The chances of every size of the families in question, the likeliest, and the next one to test (None: stop)."""

    chances: tuple[Chance, ...]
    choice: str | None
    next_test: str | None


def chart(wicks: Sequence[Wick], diameter_mm: float | None) -> tuple[str, ...]:
    """The wicks whose range holds the diameter, by rank; on the edge of two ranges both."""
    return () if diameter_mm is None else tuple(w.wick for w in _ordered(wicks) if w.suits(diameter_mm))


def to_test(wicks: Sequence[Wick], charted: Sequence[str]) -> tuple[str, ...]:
    """The charted wicks and those one rank smaller and larger, family by family."""
    found = []
    for family in _families(wicks):
        ranks = sorted({w.rank for w in family})
        named = [ranks.index(w.rank) for w in family if w.wick in charted]
        if named:
            wanted = ranks[max(min(named) - 1, 0) : max(named) + 2]
            found += [
                w.wick for w in family if w.wick in charted or (w.rank in wanted and _beside(w.rank, ranks, named))
            ]
    return tuple(found)


def _beside(rank: int, ranks: Sequence[int], named: Sequence[int]) -> bool:
    """Whether a rank is the next below or above those that the chart names."""
    return ranks.index(rank) in (min(named) - 1, max(named) + 1)


def choose(wicks: Sequence[Wick], seen: Sequence[Seen], nominal: Sequence[str], error: float, enough: float) -> Choice:
    """The likeliest size and the next test; of equals the smaller. ``nominal``: the sizes to begin with, if any.

    A family without a verdict has its chances shown, but nothing is chosen from it while another has one.
    """
    verdicts = [s for s in seen if s.says is not Says.NONE]
    spoken = {s.wick for s in verdicts}
    families = _families(wicks)
    known = [f for f in families if spoken & {w.wick for w in f}]
    begun = [f for f in families if {w.wick for w in f} & set(nominal)]
    shown = [f for f in families if f in known or f in begun] or families
    chances = {w.wick: c for f in shown for w, c in zip(f, _chances(f, verdicts, error), strict=True)}
    if not known:
        first = next((w for w in nominal if w in chances), None) or _likeliest(chances)
        return Choice(tuple(chances.values()), None, first)
    best = _likeliest({w.wick: chances[w.wick] for f in known for w in f})
    done = best is None or chances[best].chance >= enough
    return Choice(tuple(chances.values()), best, None if done else best)


def _likeliest(chances: dict[str, Chance]) -> str | None:
    """The wick with the highest chance; of those that differ by rounding alone the smallest."""
    most = max((c.chance for c in chances.values()), default=0.0)
    return next((w for w, c in chances.items() if c.chance >= most - 1e-12), None)


def _chances(family: Sequence[Wick], verdicts: Sequence[Seen], error: float) -> list[Chance]:
    ranks = sorted({w.rank for w in family})
    place = {w.wick: ranks.index(w.rank) for w in family}
    small, right, large = posterior(len(ranks), [(place[s.wick], s.says) for s in verdicts if s.wick in place], error)
    at = [place[w.wick] for w in family]
    return [
        Chance(w.wick, *(float(part[i]) for part in (right, small, large))) for w, i in zip(family, at, strict=True)
    ]


def posterior(sizes: int, readings: Sequence[tuple[int, Says]], error: float) -> tuple[Array, Array, Array]:
    """For each of the sizes, from the smallest, the chance that it is too small, right, too large."""
    gap, lo = (ends.ravel() for ends in np.indices((len(RIGHT_SIZES), sizes + 1)))
    lo, hi = lo[lo + gap <= sizes], (lo + gap)[lo + gap <= sizes]
    weight = np.array(RIGHT_SIZES)[hi - lo]
    for place, says in readings:
        truth = {Says.SMALL: place < lo, Says.RIGHT: (lo <= place) & (place < hi), Says.LARGE: place >= hi}[says]
        weight = weight * np.where(truth, 1 - error, error / 2)
        weight = weight / weight.sum()
    weight = weight / weight.sum()
    small = np.cumsum(np.bincount(lo, weight)[::-1].astype(float))[::-1][1:]
    large = np.cumsum(np.bincount(hi, weight).astype(float))[:-1]
    return small, np.maximum(1 - small - large, 0), large


def contradictions(wicks: Sequence[Wick], seen: Sequence[Seen]) -> tuple[tuple[Seen, Seen], ...]:
    """Pairs of verdicts of which one must be wrong: a wick burns too small though no larger than one that does not."""
    by_name = {w.wick: w for w in wicks}
    order = [Says.SMALL, Says.RIGHT, Says.LARGE]
    said = [s for s in seen if s.says in order and s.wick in by_name]
    pairs = [
        (a, b)
        for a in said
        for b in said
        if by_name[a.wick].family == by_name[b.wick].family
        and order.index(a.says) > order.index(b.says)
        and by_name[a.wick].rank <= by_name[b.wick].rank
    ]
    return tuple(pairs)


def off_the_end(wicks: Sequence[Wick], seen: Sequence[Seen]) -> Says | None:
    """Whether even the largest wick that was tested, the last of its family, is too small, or the smallest too large."""
    for family in _families(wicks):
        ranks = {w.wick: w.rank for w in family}
        mine = [s for s in seen if s.wick in ranks and s.says is not Says.NONE]
        for says, end in ((Says.SMALL, family[-1].rank), (Says.LARGE, family[0].rank)):
            if {s.says for s in mine} == {says} and end in {ranks[s.wick] for s in mine}:
                return says
    return None


def _ordered(wicks: Sequence[Wick]) -> list[Wick]:
    return [w for family in _families(wicks) for w in family]


def _families(wicks: Sequence[Wick]) -> list[list[Wick]]:
    """The wicks of each family from thin to thick, families in the order of the chart."""
    names = dict.fromkeys(w.family for w in wicks)
    return [sorted((w for w in wicks if w.family == name), key=lambda w: w.rank) for name in names]
