"""How many of a kind sell on a market day, from days of which those sold out say only "at least".

D_i ~ NB(mean lambda, size k), k = inf being Poisson; lambda ~ Gamma(1, scale m0); k in SIZES with equal chances; a day
counts as P(D = d), or P(D >= d) where the kind was sold out. The posterior stands on a grid of log lambda times SIZES.
Candles keep, so that what is taken answers to a level of service and not to a newsvendor's ratio of costs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, lgamma, log

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SIZES = (1.0, 2.0, 4.0, 8.0, inf)
"""How much more than by chance days differ: the smaller, the more; inf: by chance alone. A judgement."""
STEPS, LEAST, MOST = 1500, 1 / 1000, 50
"""The grid of lambda: so many points from so many to so many times m0."""
BLOCK, FARTHEST, NEARLY, FEW = 64, 200, 0.9999, 2000
"""Counts are looked at in so many blocks of so many, up to nearly all of the chance; one by one while they are few."""
NOTHING = 1e-12
"""A point of the grid that bears no more of the chance is passed over: all of them together bear under 1e-8."""


@dataclass(frozen=True, slots=True)
class Day:
    """What was sold of a kind on one market day; sold out: so many at least would have been."""

    sold: int
    sold_out: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class DemandAhead:
    """What some days together may ask for: P(D <= n) for n = 0, ``stride``, 2 ``stride`` … up to nearly 1."""

    below: Array
    stride: int

    def at_most(self, count: int) -> float:
        """The chance that no more than ``count`` are asked for."""
        return float(self.below[min(count // self.stride, len(self.below) - 1)])

    def enough(self, sure: float) -> int:
        """The smallest count that is enough with this chance."""
        return self.stride * min(int(np.searchsorted(self.below, sure - 1e-12)), len(self.below) - 1)


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """What is known of a kind's sales on a day: chances over ``sizes`` (rows) and a grid of lambda (columns).

    ``evidence``: the logarithm of the chance of its days before any of them was seen.
    """

    rate: Array
    sizes: tuple[float, ...]
    weight: Array
    evidence: float

    @property
    def mean(self) -> float:
        """Candles that one day asks for, on average."""
        return float((self.weight.sum(axis=0) * self.rate).sum())

    @property
    def size_chances(self) -> tuple[float, ...]:
        """How likely each of the sizes is."""
        return tuple(self.weight.sum(axis=1).tolist())

    def ahead(self, days: int = 1) -> DemandAhead:
        """So many days together: NB(days lambda, days k), averaged over what is not known."""
        stride = _stride(self.mean * days)
        told = [(size, self.rate[w > NOTHING], w[w > NOTHING]) for size, w in zip(self.sizes, self.weight, strict=True)]
        blocks: list[Array] = []
        while not blocks or (sum(float(b.sum()) for b in blocks) < NEARLY and len(blocks) < FARTHEST):
            counts = stride * np.arange(BLOCK * len(blocks), BLOCK * (len(blocks) + 1))
            of_size = [np.exp(log_chances(counts, days * rate, size * days)) @ weight for size, rate, weight in told]
            blocks.append(stride * np.sum(of_size, axis=0))
        return DemandAhead(np.minimum(np.cumsum(np.concatenate(blocks)), 1.0), stride)


def _stride(mean: float) -> int:
    """Every count is looked at where they are few; of thousands only so many that nobody waits."""
    return 1 + int(mean / FEW)


def demand(days: Sequence[Day], usual: float, sizes: Sequence[float] = SIZES) -> Demand:
    """The posterior of a kind's demand; ``usual``: m0, candles sold per kind and day on offer, over 0."""
    logs = np.linspace(log(usual * LEAST), log(usual * MOST), STEPS)
    rate = np.exp(logs)
    prior = logs - rate / usual  # Gamma(1, scale usual) on the scale of log lambda
    prior = prior - _log_sum(prior) - log(len(sizes))
    told = Counter(days)
    worth = np.array(
        [prior + sum((n * _likelihood(d, rate, k) for d, n in told.items()), np.zeros(STEPS)) for k in sizes]
    )
    return Demand(rate, tuple(sizes), np.exp(worth - _log_sum(worth)), _log_sum(worth))


def _log_sum(logs: Array) -> float:
    return float(np.log(np.exp(logs - logs.max()).sum()) + logs.max())


def _likelihood(day: Day, rate: Array, size: float) -> Array:
    """The logarithm of P(D = d), or of P(D >= d) on a day that was sold out."""
    if not day.sold_out:
        return log_chances(np.array([day.sold]), rate, size).ravel()
    stride = _stride(day.sold)
    counts = np.arange(0, day.sold, stride)
    less = stride * np.exp(log_chances(counts, rate, size)).sum(axis=0)
    at_least: Array = np.log(np.maximum(1 - less, 1e-300))
    return at_least


def log_chances(counts: npt.NDArray[np.int64], rate: Array, size: float) -> Array:
    """The logarithm of P(D = n) for counts (rows) and rates (columns), D negative binomial of that size; inf: Poisson."""
    n = counts[:, None].astype(float)
    factorials = np.array([lgamma(c + 1) for c in counts.tolist()])[:, None]
    chances: Array
    if size == inf:
        chances = n * np.log(rate) - rate - factorials
        return chances
    ways = np.array([lgamma(c + size) - lgamma(size) for c in counts.tolist()])[:, None] - factorials
    chances = ways + size * np.log(size / (size + rate)) + n * np.log(rate / (size + rate))
    return chances


def apart(places: Sequence[Sequence[Day]], usual: float, odds: float) -> bool:
    """Whether the sales of these places differ by more than chance: how much better two rates explain them than one."""
    if len(places) < 2:
        return False
    together = demand([day for days in places for day in days], usual).evidence
    return sum(demand(days, usual).evidence for days in places) - together > log(odds)
