"""A right weight under a wrong name: a draw from another block, a load from another harvest or into another session.

The weight leaves one balance and enters another of its kind; all the others of the book are tried at once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import log

import numpy as np

from pipeline.analyses.balance_least_squares import Floats, Ints, Solved
from pipeline.analyses.slip import Slip
from pipeline.analyses.slip_ranking import SLIP
from pipeline.analyses.step_balance import Balance, Slack, Weight
from pipeline.analyses.typing_slips import PRIOR
from pipeline.analyses.weighing_network import Weighed
from pipeline.analyses.weight_in_doubt import Problem

NAMED_IN = {"harvest": "source", "slumgum": "source", "block": "source", "join": "session", "cast": "session"}
"""The column of the name that puts a weight into a balance of this kind; of a draw, ``block``."""
_LEAST = 0.02
"""What may be left of a store may be so much less than the weight, as a share of it: scales and spills."""
_UNLOADED = 6.0
"""Log odds for a load that is all that a pass without any lacks, as it would else be missing there: a judgement, no source."""
_TOLD = 3
"""Names that are tried at most for one weight, the likeliest: the rest are no answer."""


@dataclass(frozen=True)
class Names:
    """All balances of a book by kind, as places where a wrongly named weight may belong."""

    weighed: Weighed
    solved: Solved

    @cached_property
    def _kinds(self) -> dict[str, Ints]:
        """The checkable balances of each kind."""
        found: dict[str, list[int]] = defaultdict(list)
        for i, b in enumerate(self.weighed.balances):
            found[b.kind].append(i)
        return {kind: np.array(numbers) for kind, numbers in found.items()}

    def ways(self, problem: Problem) -> Iterator[Slip]:
        """Each weight of the problem moved to where it fits better."""
        place = {w: i for i, w in enumerate(problem.streams) if isinstance(w, Weight)}
        for i, balance, slack, _ in problem.steps:
            for w, sign in _movable(balance, slack):
                if w in place and w.mass_g:
                    leaving = sign * problem.columns[:, i]
                    slip = Slip("wrong name", (place[w], i), 0.0, leaving, error_g=w.mass_g, detail=balance.kind)
                    if leaving @ problem.inverse @ (2 * problem.gap - slip.shift) > 0:
                        yield from self._moved(problem, w, balance, slip)

    def _moved(self, problem: Problem, w: Weight, balance: Balance, slip: Slip) -> Iterator[Slip]:
        """The weight, which leaves its balance by ``slip``, in each of the likeliest others."""
        options = self._entering(problem, w, balance)
        prior = log(SLIP * PRIOR["wrong name"] / max(len(options), 1))
        for gain, name, row, entering in sorted(options, key=lambda o: -o[0])[:_TOLD]:
            along = slip.along if entering is None else slip.along + entering
            yield replace(slip, prior=prior + gain, along=along, likely=name, row=row)

    def _entering(
        self, problem: Problem, w: Weight, balance: Balance
    ) -> list[tuple[float, str, int | None, Floats | None]]:
        """Where else the weight may belong: what the fit there gains, the name, the balance, what a gram does to the gaps."""
        mass, weights = w.mass_g or 0.0, len(self.weighed.weights)
        here = {id(b): i for i, b, *_ in problem.steps}
        rows = self._kinds.get(balance.kind, np.array([], np.int64))
        streams = rows + weights
        sign = np.array([_sign(self.weighed.balances[r].kind, self.weighed.slacks[r].mean) for r in rows])
        weight = np.nan_to_num(self.solved.weight[streams])
        top = np.nan_to_num(self.solved.bias[streams]) * weight
        gains = -sign * mass * top - (mass**2) * weight * sign**2 / 2
        found: list[tuple[float, str, int | None, Floats | None]] = []
        for r, gain in zip(rows, gains, strict=True):
            other = self.weighed.balances[r]
            if other.of == balance.of:
                continue
            if (inside := here.get(id(other))) is not None:
                along = -_sign(other.kind, self.weighed.slacks[r].mean) * problem.columns[:, inside]
                if along @ problem.inverse @ (problem.gap - mass * along / 2) > 0:
                    found.append((0.0, other.of, int(r), along))
            else:
                found.append((float(gain), other.of, int(r), None))
        for other in self.weighed.open_stores:
            if (
                other.kind == balance.kind
                and other.in_g - other.out_g >= (1 - _LEAST) * mass
                and other.of != balance.of
            ):
                found.append((0.0, other.of, None, None))
        if balance.kind == "join":
            found += [(_UNLOADED, b.of, None, None) for b in self.weighed.unloaded_passes if _fills(b, mass)]
        return found


def _fills(empty: Balance, mass_g: float) -> bool:
    """Whether a load is all that went into a pass."""
    return abs(empty.out_g - mass_g) <= _LEAST * mass_g


def _movable(balance: Balance, slack: Slack) -> list[tuple[Weight, float]]:
    """The weights that a name puts into this balance, each with what leaving does to the gap along the slack's column."""
    if balance.kind not in NAMED_IN:
        return []
    side = balance.into if balance.kind == "join" else balance.out
    logs = {"join": ("loads",), "cast": ("blocks",)}.get(balance.kind, ("loads", "draws"))
    return [(w, _sign(balance.kind, slack.mean)) for w in side if w.log in logs]


def _sign(kind: str, mean: float) -> float:
    """Leaving the outgoing side adds to the gap; a slack's column stands for -1 of it."""
    return -(1 - mean) if kind == "join" else 1.0
