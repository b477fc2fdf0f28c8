"""Reconciling weighings that must agree: weighted least squares, the tests on it, many balances at once.

The method is linear data reconciliation (Narasimhan & Jordache, *Data Reconciliation and Gross Error Detection*,
2000): weighed streams ``y = x + e``, ``e ~ N(0, S)``, balances ``A x = b``, streams nobody weighed eliminated before.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy import linalg, sparse
from scipy.sparse.csgraph import connected_components

from pipeline.analyses.chances import chi2_above, normal_quantile

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

LARGEST_BLOCK = 200
"""Balances linked to one another are solved together up to this many; longer chains are cut there."""

_AT_ONCE = 200_000


def unweighed(a: Floats, b: Floats) -> Floats:
    """What streams nobody weighed must be by ``a`` (k, n) ``x = b`` (k,); nan where the balances leave it open."""
    found: Floats = np.asarray(np.linalg.lstsq(a, b, rcond=None)[0], np.float64)
    free = linalg.null_space(a) if len(a) else np.eye(a.shape[1])
    found[(np.abs(free) > 1e-9).any(axis=1)] = np.nan
    return found


def sidak(level: float, tests: Ints) -> Floats:
    """The |z| that the largest of so many tests exceeds with probability ``level`` (Šidák)."""
    counts, which = np.unique(tests, return_inverse=True)
    return np.array([-normal_quantile((1 - (1 - level) ** (1 / n)) / 2) for n in counts])[which]


@dataclass(frozen=True)
class Network:
    """Every weighing of a book with every balance between them.

    ``value``, ``variance`` (streams,): what was weighed, g and g². ``row``, ``stream``, ``coefficient`` (entries,):
    the non-zero cells of A; right sides are zero (a usual loss is a stream with its own mean and variance).
    """

    value: Floats
    variance: Floats
    row: Ints
    stream: Ints
    coefficient: Floats
    rows: int

    @cached_property
    def matrix(self) -> sparse.csr_array:
        """A (rows, streams)."""
        shape = (self.rows, len(self.value))
        return sparse.csr_array((self.coefficient, (self.row, self.stream)), shape=shape)


@dataclass(frozen=True)
class Solved:
    """All balances of a network solved.

    ``block`` (rows,): which linked set a balance belongs to; ``g``, ``df``, ``p`` (blocks,): its global test.
    ``gap`` (rows,): what the balance misses as weighed; ``inverse`` (rows, rows): V⁻¹, zero between blocks.
    ``pull`` (rows,) = V⁻¹ gap. ``values`` (streams,): reconciled masses. ``bias``, ``z`` (streams,): the error that
    would explain most if this stream alone were wrong, and its maximum-power test, nan where nothing else checks it.
    """

    block: Ints
    g: Floats
    df: Ints
    p: Floats
    gap: Floats
    inverse: sparse.csr_array
    pull: Floats
    values: Floats
    bias: Floats
    z: Floats


def solve(network: Network) -> Solved:
    """Reconcile every linked set of balances, those with equally many balances in one call."""
    a = network.matrix
    covariance = sparse.csr_array(a @ sparse.diags_array(network.variance) @ a.T)
    block = _blocks(covariance)
    inverse = _block_inverse(sparse.coo_array(covariance), block)
    gap = a @ network.value
    pull = inverse @ gap
    weight = _weights(inverse, a)
    weight = np.where(weight > 0, weight, np.nan)
    top = a.T @ pull
    count = int(block.max(initial=-1)) + 1
    g = np.bincount(block, gap * pull, minlength=count).astype(np.float64)
    df = np.bincount(block, minlength=count).astype(np.int64)
    p = chi2_above(df, g)
    values = network.value - network.variance * top
    z = np.abs(top) / np.sqrt(weight)
    return Solved(block, g, df, p, gap, inverse, pull, values, top / weight, z)


def _weights(inverse: sparse.csr_array, a: sparse.csr_array) -> Floats:
    """f'V⁻¹f for each stream, f its column of A; taken in parts, since V⁻¹A is far larger than A."""
    columns, n = sparse.csc_array(a), a.shape[1]
    parts = [columns[:, at : at + _AT_ONCE] for at in range(0, n, _AT_ONCE)]
    sums = [np.asarray((inverse @ part).multiply(part).sum(axis=0)).ravel() for part in parts]
    return np.concatenate([np.zeros(0), *sums])


def _blocks(covariance: sparse.csr_array) -> Ints:
    linked = connected_components(covariance, directed=False)[1].astype(np.int64)
    order = np.argsort(linked, kind="stable")
    place = np.empty_like(order)
    starts = np.searchsorted(linked[order], linked[order])
    place[order] = np.arange(len(order)) - starts
    pairs = np.stack([linked, place // LARGEST_BLOCK])
    return np.unique(pairs, axis=1, return_inverse=True)[1].ravel().astype(np.int64)


def _block_inverse(covariance: sparse.coo_array, block: Ints) -> sparse.csr_array:
    """V⁻¹ for every block of V, all blocks of one size inverted in one call."""
    order = np.argsort(block, kind="stable")
    sizes = np.bincount(block)
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    place = np.empty(len(block), np.int64)
    place[order] = np.arange(len(block)) - starts[block[order]]
    left, right = covariance.coords
    inside = block[left] == block[right]
    left, right, value = left[inside], right[inside], covariance.data[inside]
    cells = int((sizes**2).sum())
    values, lefts, rights = np.empty(cells), np.empty(cells, np.int32), np.empty(cells, np.int32)
    at = 0
    for size in np.unique(sizes):
        members = np.flatnonzero(sizes == size)
        which = np.full(len(sizes), -1, np.int64)
        which[members] = np.arange(len(members))
        here = which[block[left]] >= 0
        stack = np.zeros((len(members), size, size))
        stack[which[block[left[here]]], place[left[here]], place[right[here]]] = value[here]
        rows = order[starts[members][:, None] + np.arange(size)]
        filled, at = slice(at, at + stack.size), at + stack.size
        values[filled] = np.linalg.inv(stack).ravel()
        lefts[filled], rights[filled] = np.repeat(rows, size), np.tile(rows, size).ravel()
    return sparse.csr_array((values, (lefts, rights)), shape=(len(block), len(block)))
