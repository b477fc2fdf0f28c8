"""The slope through a few seasons: Theil-Sen, the exact Mann-Kendall test, and least squares as a second opinion."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations, permutations
from math import factorial, sqrt

import numpy as np

from pipeline.analyses.distributions import normal_below, normal_quantile, t_below, t_quantile

FEWEST_FOR_P = 5
"""Below five seasons no order of them, however clear, is rarer than one in twenty."""
FEWEST_FOR_A_CLAIM = 6
"""Five seasons have 120 orders: none is rare enough beside all else that a page might say."""
_ENUMERATED = 8
_MOST = 60
"""Beyond so many seasons the normal score is as good as a count of their orders."""


@dataclass(frozen=True, slots=True)
class FittedLine:
    """A slope per season with its 95 % interval and two-sided p; None where the seasons are too few.

    Of the Theil-Sen line only: Mann-Kendall's ``s`` and its normal score ``z``, and whether ``p`` is exact.
    """

    per_season: float
    low: float | None
    high: float | None
    p: float | None
    s: int | None = None
    z: float | None = None
    exact: bool | None = None


def kendall_s(y: Sequence[float]) -> int:
    """Mann-Kendall S: pairs that rise less pairs that fall."""
    return sum((b > a) - (b < a) for a, b in combinations(y, 2))


def kendall_z(y: Sequence[float]) -> float:
    """S over its standard deviation with ties, continuity corrected; for many seasons, and to check against tables."""
    s, variance = kendall_s(y), _kendall_variance(y)
    return 0.0 if variance == 0 else (s - (s > 0) + (s < 0)) / sqrt(variance)


def _kendall_variance(y: Sequence[float]) -> float:
    n, ties = len(y), Counter(y).values()
    return (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18


@cache
def _inversions(n: int) -> tuple[int, ...]:
    """How many orders of n different values have 0, 1, 2 … falling pairs."""
    if n <= 1:
        return (1,)
    shorter = _inversions(n - 1)
    sums = np.convolve(np.array(shorter, dtype=object), np.ones(n, dtype=object))
    return tuple(int(x) for x in sums)


def kendall_p(y: Sequence[float], one_sided: bool = False) -> float:
    """The exact chance of an S at least as extreme if the order of the seasons meant nothing.

    Two-sided, or in the direction of S. With ties: all orders up to eight seasons, beyond that the normal
    approximation with ties.
    """
    s, n = abs(kendall_s(y)), len(y)
    if s == 0:
        return 1.0
    if not _enumerable(y):
        tail = normal_below(-abs(kendall_z(y)))
    elif len(set(y)) == n:
        pairs = n * (n - 1) // 2
        tail = sum(_inversions(n)[: (pairs - s) // 2 + 1]) / factorial(n)
    else:
        tail = _tied_tail(tuple(y), s)
    return tail if one_sided else 2 * tail


def _enumerable(y: Sequence[float]) -> bool:
    """Whether every order of the seasons can be counted: all different, or few."""
    return len(y) <= _ENUMERATED or (len(set(y)) == len(y) and len(y) <= _MOST)


def _tied_tail(y: Sequence[float], s: int) -> float:
    sums = [kendall_s(order) for order in permutations(y)]
    return sum(x >= s for x in sums) / len(sums)


def theil_sen(season: Sequence[float], y: Sequence[float]) -> FittedLine | None:
    """The median of all pairwise slopes, its interval, and the exact p; None below three seasons."""
    if len(y) < 3:
        return None
    if len(set(y)) == 1:
        return FittedLine(0.0, 0.0, 0.0, 1.0 if len(y) >= FEWEST_FOR_P else None, 0, 0.0, True)
    slopes = sorted((yb - ya) / (tb - ta) for (ta, ya), (tb, yb) in combinations(zip(season, y, strict=True), 2))
    low, high = _ranked(slopes, normal_quantile(0.975) * sqrt(_kendall_variance(y)))
    p = kendall_p(y) if len(y) >= FEWEST_FOR_P else None
    return FittedLine(float(np.median(slopes)), low, high, p, kendall_s(y), kendall_z(y), _enumerable(y))


def _ranked(slopes: Sequence[float], reach: float) -> tuple[float, float]:
    """The slopes as many ranks from the middle as chance moves Kendall's S (Sen 1968); of few, the outermost."""
    below, above = round((len(slopes) - reach) / 2) - 1, round((len(slopes) + reach) / 2)
    return slopes[max(below, 0)], slopes[min(above, len(slopes) - 1)]


def least_squares(season: Sequence[float], y: Sequence[float]) -> FittedLine | None:
    """The least-squares slope over season means with its t interval and p; None below three seasons."""
    if len(y) < 3:
        return None
    t, z = np.asarray(season, float), np.asarray(y, float)
    spread = float(((t - t.mean()) ** 2).sum())
    slope = float(((t - t.mean()) * z).sum()) / spread
    rest = z - z.mean() - slope * (t - t.mean())
    error = sqrt(float((rest**2).sum()) / (len(y) - 2) / spread)
    reach = t_quantile(0.975, len(y) - 2) * error
    p = 2 * t_below(-abs(slope) / error, len(y) - 2) if len(y) >= FEWEST_FOR_P and error else None
    return FittedLine(slope, slope - reach, slope + reach, p)
