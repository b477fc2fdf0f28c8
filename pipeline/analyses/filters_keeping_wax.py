"""A filter that keeps more wax than the book's others do: losses of its passes against those of all other refining passes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from pipeline.analyses.balance_least_squares import Floats
from pipeline.analyses.distributions import normal_below

FEWEST = 5
"""Passes on each side from which two can be compared: below that ranks cannot reach a level worth the name."""
SHARE = 0.002
"""A difference smaller than this is not worth a search: a judgement, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Losses:
    """The shares of their wax that refining passes done in one way, by method and filter, cannot account for; (passes,)."""

    filter: str | None
    method: str
    shares: Floats


@dataclass(frozen=True, slots=True)
class Leak:
    """What passes through one filter lose, against all others: middles, how many of each, and the chance if all were alike."""

    filter: str | None
    method: str
    passes: int
    others: int
    share: float
    share_of_others: float
    p: float


def leaks(losses: Sequence[Losses]) -> list[Leak]:
    """Each filter (by method) that can be compared with all others, whether it leaks or not."""
    found = []
    for one in losses:
        own = one.shares
        rest = np.concatenate([np.zeros(0), *(other.shares for other in losses if other is not one)])
        if min(len(own), len(rest)) >= FEWEST:
            middles = float(np.median(own)), float(np.median(rest))
            p = rank_sum_above(own, rest) if middles[0] - middles[1] >= SHARE else 1.0
            found.append(Leak(one.filter, one.method, len(own), len(rest), *middles, p))
    return found


def rank_sum_above(own: np.ndarray, rest: np.ndarray) -> float:
    """The chance of ranks of ``own`` at least so high if both were alike: Mann-Whitney, normal, ties and continuity corrected."""
    _, place, counts = np.unique(np.concatenate([own, rest]), return_inverse=True, return_counts=True)
    ranks = (np.cumsum(counts) - (counts - 1) / 2)[place]
    n, m = len(own), len(rest)
    u = float(ranks[:n].sum()) - n * (n + 1) / 2
    ties = float((counts**3 - counts).sum()) / ((n + m) * (n + m - 1))
    sd = sqrt(n * m / 12 * (n + m + 1 - ties))
    return normal_below(-(u - n * m / 2 - 0.5) / sd) if sd else 1.0
