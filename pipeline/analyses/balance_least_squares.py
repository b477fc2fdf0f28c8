"""Reconciling weighings that must agree: weighted least squares, the tests on it, many balances at once.

The method is linear data reconciliation (Narasimhan & Jordache, *Data Reconciliation and Gross Error Detection*,
2000): weighed streams ``y = x + e``, ``e ~ N(0, S)``, balances ``A x = b``, streams nobody weighed eliminated before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from pipeline.analyses.distributions import chi2_above, normal_quantile

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

LARGEST_BLOCK = 200
"""Balances linked to one another are solved together up to this many; longer chains are cut there."""


def unweighed(a: Floats, b: Floats) -> Floats:
    """What streams nobody weighed must be by ``a`` (k, n) ``x = b`` (k,); nan where the balances leave it open."""
    found: Floats = np.asarray(np.linalg.lstsq(a, b, rcond=None)[0], np.float64)
    _, size, across = np.linalg.svd(a)
    known = int((size > size.max(initial=0.0) * max(a.shape) * np.finfo(float).eps).sum())
    found[(np.abs(across[known:]) > 1e-9).any(axis=0)] = np.nan
    return found


def sidak(level: float, tests: Ints) -> Floats:
    """The |z| that the largest of so many tests exceeds with probability ``level`` (Šidák)."""
    counts, which = np.unique(tests, return_inverse=True)
    return np.array([-normal_quantile((1 - (1 - level) ** (1 / n)) / 2) for n in counts])[which]


@dataclass(frozen=True, eq=False)
class Network:
    """Every weighing of a book with every balance between them.

    ``value``, ``variance`` (streams,): what was weighed, g and g². ``row``, ``stream``, ``coefficient`` (entries,):
    the non-zero cells of A, row by row; right sides are zero (a usual loss is a stream with its own mean and variance).
    """

    value: Floats
    variance: Floats
    row: Ints
    stream: Ints
    coefficient: Floats
    rows: int

    def columns(self, rows: Ints) -> tuple[Ints, Floats]:
        """The streams that stand in some balances, and their cells (rows, streams)."""
        ends = self._ends
        entries = np.concatenate([np.arange(ends[r], ends[r + 1]) for r in rows])
        streams, column = np.unique(self.stream[entries], return_inverse=True)
        cells = np.zeros((len(rows), len(streams)))
        place = np.repeat(np.arange(len(rows)), ends[rows + 1] - ends[rows])
        np.add.at(cells, (place, column), self.coefficient[entries])
        return streams, cells

    @cached_property
    def _ends(self) -> Ints:
        """Where the entries of each row begin, and where the last ends."""
        return np.searchsorted(self.row, np.arange(self.rows + 1))

    def gap(self) -> Floats:
        """A y (rows,): what each balance misses as weighed."""
        return _sums(self.row, self.coefficient * self.value[self.stream], self.rows)

    def pairs(self) -> tuple[Ints, Ints]:
        """All pairs of entries that stand in one column, each entry with itself too."""
        order = np.argsort(self.stream, kind="stable")
        many = np.bincount(self.stream, minlength=len(self.value))
        first = (np.cumsum(many) - many)[self.stream[order]]
        many = many[self.stream[order]]
        within = np.arange(many.sum()) - np.repeat(np.cumsum(many) - many, many)
        return np.repeat(order, many), order[np.repeat(first, many) + within]


@dataclass(frozen=True, eq=False)
class Blocks:
    """Linked sets of balances. The square matrices of all sets lie one after the other in one flat array.

    ``block`` (rows,): the number of the set that a balance belongs to.
    """

    block: Ints

    @cached_property
    def size(self) -> Ints:
        """How many balances each set has (blocks,)."""
        return np.bincount(self.block)

    @cached_property
    def order(self) -> Ints:
        """The balances set by set (rows,)."""
        return np.argsort(self.block, kind="stable")

    @cached_property
    def begin(self) -> Ints:
        """Where each set begins in ``order`` (blocks,)."""
        return np.cumsum(self.size) - self.size

    @cached_property
    def start(self) -> Ints:
        """Where each set's matrix begins (blocks,)."""
        return np.cumsum(self.size**2) - self.size**2

    @cached_property
    def place(self) -> Ints:
        """Which of its set's balances each is (rows,)."""
        place = np.empty_like(self.order)
        place[self.order] = np.arange(len(place)) - np.repeat(self.begin, self.size)
        return place

    def members(self, number: int) -> Ints:
        """The balances of a set."""
        return self.order[self.begin[number] : self.begin[number] + self.size[number]]

    def cell(self, left: Ints, right: Ints) -> Ints:
        """Where the cell of two balances of one set lies."""
        block = self.block[left]
        return self.start[block] + self.place[left] * self.size[block] + self.place[right]

    def alike(self) -> Iterator[tuple[Ints, Ints]]:
        """The sets with equally many balances together: their balances (sets, n), their cells (sets, n, n)."""
        for n in np.unique(self.size):
            sets = np.flatnonzero(self.size == n)[:, None]
            yield self.order[self.begin[sets] + np.arange(n)], (self.start[sets] + np.arange(n * n)).reshape(-1, n, n)


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """All balances of a network solved.

    ``blocks``: which linked set each balance belongs to; ``g``, ``p`` (blocks,): its global test, with as many degrees
    of freedom as it has balances. ``gap`` (rows,): what the balance misses as weighed. ``values`` (streams,): reconciled
    masses. ``bias``, ``z`` (streams,): the error that would explain most if this stream alone were wrong, and its
    maximum-power test, nan where nothing else checks it; ``weight`` (streams,) = f'V⁻¹f: 1/sqrt of it is what the other
    weighings can tell the stream to, g.
    """

    blocks: Blocks
    g: Floats
    p: Floats
    gap: Floats
    values: Floats
    bias: Floats
    z: Floats
    weight: Floats


def solve(network: Network) -> Solved:
    """Reconcile every linked set of balances, those with equally many balances in one call."""
    blocks = Blocks(_cut(_linked(network)))
    block, row, stream = blocks.block, network.row, network.stream
    left, right = network.pairs()
    linked = block[row[left]] == block[row[right]]
    left, right = left[linked], right[linked]
    cell, product = blocks.cell(row[left], row[right]), network.coefficient[left] * network.coefficient[right]
    covariance = _sums(cell, product * network.variance[stream[left]], int((blocks.size**2).sum()))
    gap, pull, inverse = network.gap(), np.zeros(network.rows), np.empty_like(covariance)
    for rows, cells in blocks.alike():
        inverse[cells] = np.linalg.inv(covariance[cells])
        pull[rows] = (inverse[cells] @ gap[rows][:, :, None])[:, :, 0]
    weight = _sums(stream[left], product * inverse[cell], len(network.value))
    weight = np.where(weight > 0, weight, np.nan)
    top = _sums(stream, network.coefficient * pull[row], len(network.value))
    g = _sums(block, gap * pull, len(blocks.size))
    values, z = network.value - network.variance * top, np.abs(top) / np.sqrt(weight)
    p = chi2_above(blocks.size, g)
    return Solved(blocks, g, p, gap, values, top / weight, z, weight)


def _linked(network: Network) -> Ints:
    """For each balance the first of those that it is linked to by the streams that they share."""
    first = np.arange(network.rows)
    while True:
        least = np.full(len(network.value), network.rows)
        np.minimum.at(least, network.stream, first[network.row])
        nearer = first.copy()
        np.minimum.at(nearer, network.row, least[network.stream])
        np.minimum.at(nearer, first, nearer.copy())
        nearer = nearer[nearer]
        if np.array_equal(nearer, first):
            return first
        first = nearer


def _cut(linked: Ints) -> Ints:
    """Numbers of the linked sets, those with too many balances cut in parts."""
    part = Blocks(np.unique(linked, return_inverse=True)[1]).place // LARGEST_BLOCK
    return np.asarray(np.unique(linked * (len(linked) + 1) + part, return_inverse=True)[1], np.int64)


def _sums(place: Ints, values: Floats, places: int) -> Floats:
    """What the values come to at each place (places,)."""
    return np.asarray(np.bincount(place, values, places), np.float64)
