"""The weighings of a book as a network: every balance between them that can be checked, unweighed streams eliminated."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from pipeline.analyses.balance_least_squares import Flags, Ints, Network
from pipeline.analyses.balance_matrix import Entries
from pipeline.analyses.masses_from_other_weighings import Elsewhere, weighed_elsewhere, went_in
from pipeline.analyses.step_balance import Balance, Slack, Weight
from pipeline.analyses.usual_losses import Expected, Uncertainty, UsualLoss, anything


@dataclass(frozen=True, eq=False)
class Weighed:
    """A book's balances as a network. Streams: first ``weights``, then one slack per entry of ``slacks``.

    ``balances`` are those that can be checked; slack i belongs to balance i, which is row ``row_of[i]`` of the network
    where all in it was weighed (else -1). ``unchecked``: the balances that nothing checks, stores that need not be empty.
    ``elsewhere``: what other weighings say of masses that nobody took.
    """

    network: Network
    weights: tuple[Weight, ...]
    balances: tuple[Balance, ...]
    slacks: tuple[Slack, ...]
    row_of: Ints
    unchecked: tuple[Balance, ...] = ()
    elsewhere: Mapping[Weight, Elsewhere] = field(default_factory=dict)

    @property
    def open_stores(self) -> list[Balance]:
        """Stores of which some may be left, so that a weight may belong there unseen."""
        return [b for b in self.unchecked if b.kind in ("harvest", "block")]

    @property
    def unloaded_passes(self) -> list[Balance]:
        """Passes that were weighed and that no load went into."""
        return [b for b in self.unchecked if b.kind == "join" and not b.into and b.out_g > 0]

    @cached_property
    def judged_rows(self) -> Flags:
        """(rows,) which rows of the network say no more than the trade's usual figures."""
        judged = np.zeros(len(self.network.value), bool)
        judged[len(self.weights) :] = [slack.judged for slack in self.slacks]
        found = np.zeros(self.network.rows, bool)
        found[self.network.row[judged[self.network.stream]]] = True
        return found

    @cached_property
    def number(self) -> dict[Weight, int]:
        """The stream of each weight."""
        return {w: i for i, w in enumerate(self.weights)}

    @cached_property
    def holding(self) -> dict[Weight, list[int]]:
        """The balances that each unweighed weight stands in."""
        found: dict[Weight, list[int]] = defaultdict(list)
        for i, b in enumerate(self.balances):
            for w in b.unweighed:
                found[w].append(i)
        return found


def weighed(balances: Sequence[Balance], uncertainty: Uncertainty, expected: Expected = anything) -> Weighed:
    """The network of all balances that can be checked; ``expected``: what the trade knows of yields."""
    usual = UsualLoss(balances, uncertainty, expected)
    found = [(balance, usual.slack(balance)) for balance in balances]
    kept = [(balance, slack) for balance, slack in found if slack is not None]
    unchecked = tuple(b for b, slack in found if slack is None)
    return _network(kept, unchecked, uncertainty)


def _network(
    kept: Sequence[tuple[Balance, Slack]], unchecked: tuple[Balance, ...], uncertainty: Uncertainty
) -> Weighed:
    number: dict[Weight, int] = {}
    for balance, _ in kept:
        for w in (*balance.into, *balance.out):
            number.setdefault(w, len(number))
    entries = Entries()
    row_of = np.empty(len(kept), np.int64)
    for i, (balance, slack) in enumerate(kept):
        streams = [number[w] for w in (*balance.into, *balance.out)]
        row_of[i] = entries.add([*streams, len(number) + i], [*slack.coefficients(balance), -1.0], balance.weighed)
    entries.eliminate([i for w, i in number.items() if w.mass_g is None])
    value = np.zeros(len(number) + len(kept))
    value[: len(number)] = np.fromiter((w.mass_g or 0.0 for w in number), float, len(number))
    sds = [uncertainty(w.log, w.mass_g or 0.0) for w in number]
    elsewhere = weighed_elsewhere([*(b for b, _ in kept), *unchecked])
    sds += [slack.sd_g(_size(balance, slack, elsewhere)) for balance, slack in kept]
    used, slacks = (tuple(column) for column in zip(*kept, strict=True)) if kept else ((), ())
    return Weighed(
        entries.network(value, np.array(sds) ** 2), tuple(number), used, slacks, row_of, unchecked, elsewhere
    )


def _size(balance: Balance, slack: Slack, elsewhere: Mapping[Weight, Elsewhere]) -> float:
    """The mass at a step, taken so that one wrong weight cannot blow it up."""
    into, is_whole = went_in(balance, elsewhere)
    sides = [s for s in (sum(k.mass_g for k in into), slack.before_g(balance.out_g)) if s > 0]
    return min(sides, default=0.0) if is_whole else max(sides, default=0.0)
