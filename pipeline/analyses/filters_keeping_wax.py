"""A filter that keeps more wax than the book's others do: losses of its passes against those of all other refining passes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from pipeline.analyses.distributions import normal_below

FEWEST = 5
"""Passes on each side from which two can be compared: below that ranks cannot reach a level worth the name."""
SHARE = 0.002
"""A difference smaller than this is not worth a search: a judgement, no source."""


@dataclass(frozen=True, slots=True)
class Loss:
    """The share of its wax that one refining pass cannot account for; ``filter`` and ``method`` are how it was done."""

    filter: str | None
    method: str
    share: float


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


def leaks(losses: Sequence[Loss]) -> list[Leak]:
    """Each filter (by method) that can be compared, whether it leaks or not, in order of name."""
    groups: dict[tuple[str, str], list[float]] = defaultdict(list)
    for one in losses:
        groups[one.method, one.filter or ""].append(one.share)
    everything = {key: np.array(shares) for key, shares in groups.items()}
    found = []
    for (method, sieve), own in sorted(everything.items()):
        rest = np.concatenate([np.zeros(0), *(s for key, s in everything.items() if key != (method, sieve))])
        if min(len(own), len(rest)) >= FEWEST:
            middles = float(np.median(own)), float(np.median(rest))
            p = rank_sum_above(own, rest) if middles[0] - middles[1] >= SHARE else 1.0
            found.append(Leak(sieve or None, method, len(own), len(rest), *middles, p))
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
