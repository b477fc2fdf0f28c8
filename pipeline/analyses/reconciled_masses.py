"""Reconciled masses: every balance closed again once it is known which weights are most likely slips.

While slips are looked for, a step that was seen only a few times may lose a little. Reconciled masses take such a step
for exact: what the book has not shown is not put in as if it had been measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pipeline.analyses.balance_least_squares import Flags, Floats, Ints, Network, solve, unweighed
from pipeline.analyses.step_balance import Balance, Weight
from pipeline.analyses.weighing_network import Weighed

_EXACT_G2 = 1e-6
"""Variance of a step that loses nothing; above zero so that balances which say the same twice can still be solved."""
_TOLD = 1e-15
"""A stream of which the balances know less than this cannot be freed once more."""

Freed = tuple[Ints, list[int]]
"""Linked balances (rows), and the streams among them that count as not weighed."""


def settle(weighed: Weighed, freed: Sequence[Freed]) -> Floats:
    """(streams,) reconciled masses, g; a freed stream is what the others leave for it.

    The trade's usual figures judge a slip, but they weigh nothing: balances that rest on them are left out.
    """
    network = weighed.network
    exact = network.variance.copy()
    steps = zip(weighed.balances, weighed.slacks, strict=True)
    new = [
        len(weighed.weights) + i for i, (b, slack) in enumerate(steps) if slack.n == 0 and b.closed and not slack.judged
    ]
    exact[new] = _EXACT_G2
    values = solve(_only(replace(network, variance=exact), ~weighed.judged_rows)).values
    for rows, streams in freed:
        among, found = _without(weighed, exact, rows[~weighed.judged_rows[rows]], streams)
        values[among] = found
    return values


def _only(network: Network, kept: Flags) -> Network:
    """The network of some of its rows."""
    number = np.cumsum(kept) - 1
    here = kept[network.row]
    return replace(
        network,
        row=number[network.row[here]],
        stream=network.stream[here],
        coefficient=network.coefficient[here],
        rows=int(kept.sum()),
    )


def _without(weighed: Weighed, variance: Floats, rows: Ints, freed: Sequence[int]) -> tuple[Ints, Floats]:
    """The streams of these balances and their masses, some taken as not weighed."""
    if not len(rows):
        return rows, np.zeros(0)
    among, columns = weighed.network.columns(rows)
    value = weighed.network.value[among]
    inverse = np.linalg.inv((columns * variance[among]) @ columns.T)
    places = [int(p) for p in np.flatnonzero(np.isin(among, freed))]
    known = []
    for p in places:
        f = columns[:, p]
        pull = inverse @ f
        if f @ pull > _TOLD * float(f @ f):
            inverse = inverse - np.outer(pull, pull) / float(f @ pull)
            known.append(p)
    found = value - variance[among] * (columns.T @ (inverse @ (columns @ value)))
    found[known] = 0
    found[known] = np.linalg.lstsq(columns[:, known], -columns @ found, rcond=None)[0]
    return among, found


def derived(weighed: Weighed, reconciled: Floats, balances: Sequence[Balance]) -> dict[Weight, float | None]:
    """What the weights that nobody took in these balances must have been, g; None where nothing says."""
    wanted = [w for b in balances for w in b.unweighed]
    unknown: dict[Weight, int] = {}
    rows: list[int] = []
    while wanted:
        weight = wanted.pop()
        if weight not in unknown:
            unknown[weight] = len(unknown)
            fresh = [i for i in weighed.holding[weight] if i not in rows]
            rows += fresh
            wanted += [w for i in fresh for w in weighed.balances[i].unweighed]
    return _solved_for(weighed, reconciled, rows, unknown) if unknown else {}


def _solved_for(
    weighed: Weighed, reconciled: Floats, rows: Sequence[int], unknown: dict[Weight, int]
) -> dict[Weight, float | None]:
    a, b = np.zeros((len(rows), len(unknown))), np.zeros(len(rows))
    for k, i in enumerate(rows):
        balance, slack = weighed.balances[i], weighed.slacks[i]
        b[k] = reconciled[len(weighed.weights) + i]
        for w, each in zip((*balance.into, *balance.out), slack.coefficients(balance), strict=True):
            if w in unknown:
                a[k, unknown[w]] += each
            else:
                b[k] -= each * reconciled[weighed.number[w]]
    found = unweighed(a, b)
    return {w: float(found[i]) if np.isfinite(found[i]) else None for w, i in unknown.items()}
