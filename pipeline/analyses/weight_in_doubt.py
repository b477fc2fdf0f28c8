"""Balances that do not close, taken together, and how they would stand with one of their weights in doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import sqrt

import numpy as np

from pipeline.analyses.balance_least_squares import Floats
from pipeline.analyses.masses_from_other_weighings import Elsewhere, went_in
from pipeline.analyses.step_balance import Balance, Slack, Weight

FAINTEST = 0.01
"""What the balances know of a weight to ten times itself or worse, they do not know."""
_FAILS = 3.0
"""Standard deviations beyond which a balance is said to fail."""
_SAME = 1.3
"""Scatters within this factor of one another are the same for the purpose."""

Step = tuple[Balance, Slack, float]
"""A balance with its slack and the mass at it, g."""


@dataclass(frozen=True, eq=False)
class Problem:
    """Linked balances that do not close: gap (k,), columns (k, streams), variance (streams,) of the streams in them.

    ``streams``: what each column is, a weight or a balance's slack with its size in g; ``freed``: the columns of those
    that count as not weighed; ``elsewhere``: what other weighings say of masses nobody took.
    """

    gap: Floats
    columns: Floats
    variance: Floats
    streams: tuple[Weight | Step, ...]
    freed: tuple[int, ...] = ()
    elsewhere: Mapping[Weight, Elsewhere] = field(default_factory=dict)

    @cached_property
    def inverse(self) -> Floats:
        """V⁻¹ (k, k)."""
        inverse = np.linalg.inv(self._covariance)
        for f in self.columns[:, list(self.freed)].T:
            pull = inverse @ f
            inverse = inverse - np.outer(pull, pull) / float(f @ pull)
        return np.asarray(inverse, np.float64)

    @cached_property
    def log_size(self) -> float:
        """The log of V's determinant."""
        return float(np.linalg.slogdet(self._covariance)[1])

    @cached_property
    def _covariance(self) -> Floats:
        return np.asarray((self.columns * self.variance) @ self.columns.T, np.float64)

    @cached_property
    def as_weighed(self) -> Problem:
        """The same problem, what steps usually lose reckoned from what went in as it was weighed."""
        variance = self.variance.copy()
        for i, b, slack, _ in self.steps:
            into, is_whole = went_in(b, self.elsewhere)
            if is_whole and b.into and b.kind in ("yield", "melt"):
                variance[i] = slack.sd_g(sum(k.mass_g for k in into)) ** 2
        return replace(self, variance=variance)

    @cached_property
    def doubted(self) -> Mapping[int, Problem]:
        """The same problem for each weight that may be wrong: what its steps usually lose is reckoned without it.

        Only those weights for which this makes a difference.
        """
        found: dict[int, Floats] = {}
        at = {w: i for i, w in enumerate(self.streams) if isinstance(w, Weight)}
        for i, b, slack, _ in self.steps:
            into, is_whole = went_in(b, self.elsewhere)
            before = sqrt(self.variance[i])
            behind = [w for k in into for w in k.of]
            for side, size in ((behind, slack.before_g(b.out_g)), (b.out, sum(k.mass_g for k in into))):
                if is_whole and b.into and not 1 / _SAME < slack.sd * size / before < _SAME:
                    for w in (w for w in side if w in at):
                        found.setdefault(at[w], self.variance.copy())[i] = slack.sd_g(size) ** 2
        return {j: replace(self, variance=variance) for j, variance in found.items()}

    @property
    def g(self) -> float:
        """The global test's value."""
        return float(self.gap @ self.inverse @ self.gap)

    @property
    def steps(self) -> list[tuple[int, Balance, Slack, float]]:
        """The balances in it: the column of each one's slack, and the mass at it."""
        return [(i, *s) for i, s in enumerate(self.streams) if not isinstance(s, Weight)]

    def place(self, index: int) -> Balance | None:
        """The balance that a stream stands in and that fails most, one of weighings if any does."""
        stream, steps = self.streams[index], self.steps
        z = np.abs(self.gap) / np.sqrt(np.diag(self._covariance))
        rows = sorted(np.flatnonzero(self.columns[:, index]), key=lambda r: -z[r])
        here = [(z[r] > _FAILS, b) for r in rows for i, b, *_ in steps if self.columns[r, i] != 0]
        own = [(far, b) for far, b in here if stream in (*b.into, *b.out)] or here
        weighings = [b for far, b in own if far and b.kind != "yield"]
        return next(iter([*weighings, *(b for _, b in own)]), None)

    def checks(self, index: int) -> bool:
        """Whether anything else checks this stream, be it as large as the steps that it stands in."""
        f = self.columns[:, index]
        return float(f @ self.inverse @ f) * max(float(self.sizes[index]), 1.0) ** 2 > FAINTEST

    @cached_property
    def sizes(self) -> Floats:
        """(streams,) the mass at hand, g; of a weight, which may be mistyped, that of its largest step if it is more."""
        own = np.array([(s.mass_g or 0.0) if isinstance(s, Weight) else s[2] for s in self.streams])
        steps = np.array([not isinstance(s, Weight) for s in self.streams])
        stands = self.columns != 0
        at_row = np.where(stands[:, steps], own[steps], 0.0).max(axis=1, initial=0.0)
        around = np.where(stands, at_row[:, None], 0.0).max(axis=0, initial=0.0)
        return np.where(steps, own, np.maximum(own, around))

    def without(self, index: int) -> Problem:
        """The same balances with one stream taken as not weighed."""
        return replace(self.doubted.get(index, self), freed=(*self.freed, index))
