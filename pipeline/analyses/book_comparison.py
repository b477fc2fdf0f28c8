"""How several books compare, kind by kind: intervals for each, and a difference only where it stands out of the scatter.

Shares are compared as log odds (yields) or logs (losses), each book against all the others of its kind by Welch's t test
(Welch 1947), and all tests of a page are one family (Holm 1979), so that twenty books alike are not ranked by chance.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from statistics import fmean, variance
from typing import Final

from pipeline.analyses.distributions import t_below, t_quantile

FEWEST: Final = 3
"""Sessions of a book under which nothing is said of it: two can lie anywhere."""

LEVEL: Final = 0.05
_CLIP: Final = 0.005
"""Shares nearer to 0 or 1 than this are moved here, so that their odds are finite (as the forecast does)."""


class Apart(StrEnum):
    """What a book's sessions show beside all the others of the kind."""

    HIGHER = "higher"
    LOWER = "lower"
    NONE = "none"
    FEW = "few"


@dataclass(frozen=True, slots=True)
class ComparedKind:
    """What is compared: yields of a comb by a method, or losses of refining by a method (``comb`` None)."""

    comb: str | None
    method: str | None


@dataclass(frozen=True, slots=True)
class Standing:
    """One book in one kind: how many sessions or passes, its middle and the 95 % interval of that (shares), the verdict."""

    book: str
    n: int
    middle: float
    low: float | None
    high: float | None
    p: float | None
    verdict: Apart


def compare(shares: Mapping[ComparedKind, Mapping[str, Sequence[float]]]) -> dict[ComparedKind, list[Standing]]:
    """By kind every book's standing, in the order of the books; ``shares``: by kind and book those of its sessions.

    Kinds that only one book has are left out: there is nothing to compare with.
    """
    found = {kind: _standings(kind, books) for kind, books in shares.items() if len(books) > 1}
    tested = [(s.p, kind, n) for kind, mine in found.items() for n, s in enumerate(mine) if s.p is not None]
    kept = _holm([p for p, _, _ in tested])
    for stands, (_, kind, n) in zip(kept, tested, strict=True):
        if not stands:
            found[kind][n] = replace(found[kind][n], verdict=Apart.NONE)
    return found


def _standings(kind: ComparedKind, books: Mapping[str, Sequence[float]]) -> list[Standing]:
    scale, back = (_log_odds, _share) if kind.comb is not None else (_log, math.exp)
    values = {book: [scale(s) for s in mine] for book, mine in books.items()}
    return [_standing(book, values, back) for book in values]


def _standing(book: str, values: Mapping[str, Sequence[float]], back: Callable[[float], float]) -> Standing:
    mine = values[book]
    others = [v for other, theirs in values.items() if other != book for v in theirs]
    middle, low, high = fmean(mine), None, None
    if len(mine) > 1:
        reach = t_quantile(0.975, len(mine) - 1) * math.sqrt(variance(mine) / len(mine))
        low, high = back(middle - reach), back(middle + reach)
    p = welch(mine, others) if min(len(mine), len(others)) >= FEWEST else None
    verdict = Apart.FEW if p is None else Apart.HIGHER if middle > fmean(others) else Apart.LOWER
    return Standing(book, len(mine), back(middle), low, high, p, verdict)


def welch(one: Sequence[float], other: Sequence[float]) -> float:
    """Two-sided p of Welch's t test for two samples of two or more; 1 where neither scatters and both agree."""
    u, v = variance(one) / len(one), variance(other) / len(other)
    difference = abs(fmean(one) - fmean(other))
    if u + v == 0:
        return 0.0 if difference else 1.0
    df = (u + v) ** 2 / (u**2 / (len(one) - 1) + v**2 / (len(other) - 1))
    return 2 * (1 - t_below(difference / math.sqrt(u + v), df))


def _holm(chances: Sequence[float]) -> list[bool]:
    """Which of a family of tests stand when the whole family errs in LEVEL of cases at most (Holm 1979)."""
    order = sorted(range(len(chances)), key=lambda n: chances[n])
    stands = [False] * len(chances)
    for place, n in enumerate(order):
        if chances[n] > LEVEL / (len(chances) - place):
            break
        stands[n] = True
    return stands


def _log_odds(share: float) -> float:
    share = min(max(share, _CLIP), 1 - _CLIP)
    return math.log(share / (1 - share))


def _share(log_odds: float) -> float:
    return 1 / (1 + math.exp(-log_odds))


def _log(share: float) -> float:
    return math.log(max(share, _CLIP / 10))
