"""Which linked balances fail, and which of those that fail may have failed by one and the same slip."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from pipeline.analyses.balance_least_squares import LARGEST_BLOCK, Flags, Floats, Ints, Solved, sidak
from pipeline.analyses.slip_ranking import LEVEL
from pipeline.analyses.weighing_network import Weighed

_FAR = 3.0
"""Standard deviations by which a balance misses before its gap is compared with others'."""
_ALIKE = 4.0
"""Standard deviations within which one gap is the opposite of another."""


def failing(weighed: Weighed, solved: Solved) -> list[Ints]:
    """The rows of each failing set of balances.

    Sets are joined where their weights stand in neighbouring rows (an exchange), or where one has too much by what the
    other lacks (a weight under a wrong name, a load that nobody wrote down).
    """
    stream, block = weighed.network.stream, solved.blocks.block[weighed.network.row]
    largest = np.zeros(len(solved.g))
    np.fmax.at(largest, block, np.nan_to_num(solved.z[stream]))
    tests = np.maximum(np.bincount(block, minlength=len(largest)), 1)
    bad = (solved.p < LEVEL) | (largest > sidak(LEVEL, tests))
    sets = _Sets(bad, solved.blocks.size)
    mine = bad[block] & (stream < len(weighed.weights))
    at = {weighed.weights[s]: int(b) for s, b in zip(stream[mine], block[mine], strict=True)}
    cells = {(w.log, w.row, w.column): b for w, b in at.items()}
    for (log, r, column), b in cells.items():
        sets.join(b, cells.get((log, r + 1, column), b))
    for one, other in _opposites(weighed, solved, bad):
        sets.join(one, other)
    return [np.sort(np.concatenate([solved.blocks.members(b) for b in together])) for together in sets.members()]


class _Sets:
    """The failing sets, joined by and by; ``group``: each one's forerunner."""

    def __init__(self, bad: Flags, size: Ints) -> None:
        self.group = {int(b): int(b) for b in np.flatnonzero(bad)}
        self.size = size.copy()

    def join(self, b: int, c: int) -> None:
        """Look at two sets together, where that is not too much at once."""
        one, other = _root(self.group, b), _root(self.group, c)
        if one != other and self.size[one] + self.size[other] <= LARGEST_BLOCK:
            self.group[other] = one
            self.size[one] += self.size[other]

    def members(self) -> list[list[int]]:
        found: dict[int, list[int]] = {}
        for b in self.group:
            found.setdefault(_root(self.group, b), []).append(b)
        return list(found.values())


def _root(group: Mapping[int, int], b: int) -> int:
    while group[b] != b:
        b = group[b]
    return b


def _opposites(weighed: Weighed, solved: Solved, bad: Flags) -> list[tuple[int, int]]:
    """Failing sets of which one misses what another has too much."""
    sd = np.sqrt(_variance(weighed))
    far = np.flatnonzero(bad[solved.blocks.block] & (np.abs(solved.gap) > _FAR * sd))
    over, under = far[solved.gap[far] > 0], far[solved.gap[far] < 0]
    under = under[np.argsort(-solved.gap[under], kind="stable")]
    places = np.searchsorted(-solved.gap[under], solved.gap[over])
    found = []
    for row, place in zip(over, places, strict=True):
        for other in under[max(place - 1, 0) : place + 1]:
            if abs(solved.gap[row] + solved.gap[other]) < _ALIKE * np.hypot(sd[row], sd[other]):
                found.append((int(solved.blocks.block[row]), int(solved.blocks.block[other])))
    return found


def _variance(weighed: Weighed) -> Floats:
    """The variance of each balance's gap, g² (rows,)."""
    network = weighed.network
    each = network.coefficient**2 * network.variance[network.stream]
    return np.asarray(np.bincount(network.row, each, network.rows), np.float64)
