"""What usually goes missing at each kind of step: in this book, and, before it has shown its own, in the trade."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from math import hypot, sqrt

import numpy as np

from pipeline.analyses.balance_least_squares import Floats
from pipeline.analyses.distributions import MAD_TO_SD, normal_quantile, t_quantile
from pipeline.analyses.step_balance import Balance, Slack

_FEW_OF_ITS_OWN = 2
"""Steps of the very kind that must be there before the usual loss of wider kinds stands in for it."""
FEWEST_FOR_HISTORY = 6
"""Steps alike needed before their usual loss is taken for known."""

PRIOR_SHARE = {"harvest": 0.004, "block": 0.002, "slumgum": 0.03, "join": 0.005, "cast": 0.006, "wax": 0.005,
               "shelf": 0.002}  # fmt: skip
"""Scatter of the slack before the book shows its own, as a share of the mass: a judgement, no source."""
_HANDLED = ("join", "cast")
"""Where wax is handled between two weighings: some is lost, none is gained."""
_GAINED = 0.1
"""The scatter of such a step where more came out than went in, as a share of that of losses: a judgement, no source."""
_NEVER_SEEN = 0.05
"""Losses in store taken for seen in a book without any (thrown out, eaten by moths): a judgement, no source."""
_PRIOR_WEIGHT = 1
"""How many steps alike that scatter is worth: a judgement, no source."""
_USUAL = 0.9
"""Share of stores of a kind found empty from which another is expected to be: a judgement, no source."""


Uncertainty = Callable[[str, float], float]
"""(log, grams) -> standard uncertainty of one weighing, g."""

Expected = Callable[[str | None, str | None], tuple[float, float]]
"""(comb, method) -> the range of the share of its mass that such comb gives as wax, 0-1."""


def anything(comb: str | None, method: str | None) -> tuple[float, float]:
    """The range of a yield of which nothing is known: from old black comb to clean cappings."""
    return 0.05, 0.92


@dataclass(frozen=True, slots=True)
class _Judged:
    """A share lost by the trade's knowledge: its mean, how far books differ, and sessions within one."""

    mean: float
    between: float
    within: float


_TEN_TO_NINETY_SIGMAS = 2.563
_TRADE_WEIGHT = 2
"""How many steps alike the trade's scatter is worth: a judgement, no source."""
_YIELD_WITHIN = 0.05
"""Scatter of a yield from session to session of one kind: a judgement, no source."""
_REFINING = _Judged(0.035, 0.0195, 0.012)
"""Refining passes lose 1-6 %: common practice, no source; taken as a 10-90 % range."""
_MELTED, _CAPPINGS, _HONEYED = _Judged(0.12, 0.12, 0.12), _Judged(0.25, 0.25, 0.15), _Judged(0.5, 0.45, 0.2)
"""Of what is no wax, what the residue does not hold (water, honey, spills), where it was weighed: a judgement, no source."""
_REMELTED = _Judged(0.35, 0.2, 0.2)
"""The same of a refining pass: a judgement, no source."""
_DRY = ("white comb", "brood comb", "drone comb", "burr comb", "scrapings")
"""Kinds of comb that hold little honey; of cappings it is some of what is no wax, of any other it may be all: a judgement."""
_LEAST_LEFT = 0.01
"""No melt is taken for cleaner than this: a judgement, no source."""
_NEAR = 2.5
"""Standard deviations from the trade's figure within which a book's few own steps are believed."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Shares lost at steps alike: mean and sd without outliers, and the sd of all but the farthest one."""

    mean: float = 0.0
    sd: float = 0.0
    whole_sd: float = 0.0
    n: int = 0


@dataclass
class UsualLoss:
    """What is usual in this book at each kind of step."""

    balances: Sequence[Balance]
    uncertainty: Uncertainty
    expected: Expected = anything
    shares: dict[tuple[str | None, ...], list[float]] = field(default_factory=lambda: defaultdict(list))
    found: dict[tuple[str | None, ...], _Group] = field(default_factory=dict)
    habits: dict[str, tuple[int, int]] = field(default_factory=dict)
    emptied: tuple[int, int] = (0, 0)
    nearly_out: frozenset[Balance] = frozenset()
    slacks: dict[tuple[str | None, ...], Slack | None] = field(default_factory=dict)
    scatter: dict[tuple[str | None, ...], float] = field(default_factory=dict)
    yields: dict[tuple[str | None, int | None], Balance] = field(default_factory=dict)

    def __post_init__(self) -> None:
        stores = [b for b in self.balances if b.weighed and b.kind in _STORES and b.out]
        self.nearly_out = frozenset(b for b in stores if self._nearly_out(b))
        shares, scatter = self.shares, defaultdict(list)
        self.yields = {(b.session, b.number): b for b in self.balances if b.kind == "yield"}
        for b in self.balances:
            share = b.lost_share if b.weighed and (b.closed or b in self.nearly_out) else None
            if share is None:
                continue
            for key in b.alike:
                shares[key].append(share)
                if b.kind not in _MELTS:
                    scatter[key].append(self._scatter_g2(b) / b.in_g**2)
        self.scatter = {key: float(np.median(values)) for key, values in scatter.items()}
        self.found = {key: _robust(np.array(values)) for key, values in shares.items()}
        closed = [b for b in self.balances if b.kind == "harvest" and b.closed and b.weighed]
        self.emptied = (len(closed), sum(self._lost(b) for b in closed))
        for kind in _STORES:
            here = [b for b in stores if b.kind == kind]
            self.habits[kind] = (sum(b.closed or b in self.nearly_out for b in here), len(here))

    def _nearly_out(self, b: Balance) -> bool:
        reach = 4 * sqrt(self._scatter_g2(b) + (PRIOR_SHARE.get(b.kind, 0.0) * b.in_g) ** 2)
        return abs(b.in_g - b.out_g) <= reach

    def _scatter_g2(self, b: Balance) -> float:
        """What the scale alone makes of a balance, g²."""
        return sum(self.uncertainty(w.log, w.mass_g or 0.0) ** 2 for w in (*b.into, *b.out))

    def slack(self, b: Balance) -> Slack | None:
        """The slack of a balance, None where it cannot be checked: no history, or a store that need not be empty."""
        overdrawn = b.kind in _EMPTIED and b.out_g > 0
        if not (b.into and b.out) or (b.weighed and b.in_g <= 0 and not overdrawn):
            return None
        if b.alike[0] not in self.slacks:
            self.slacks[b.alike[0]] = self._history(b) if b.kind in _MELTS else self._shrunk(b)
        usual = self.slacks[b.alike[0]]
        if usual is not None and b.kind not in _MELTS and not usual.n:
            gained = b.kind in _HANDLED and b.weighed and b.out_g > b.in_g
            usual = replace(usual, sd=self._of_few(b, usual.sd) * (_GAINED if gained else 1.0))
        if b.kind in _MELTS or usual is None:
            found = usual or self._judged(b)
            return replace(found, sd=found.sd * self._no_wax(b)) if b.kind == "melt" else found
        if b.closed or (b.weighed and (b.out_g > b.in_g or b in self.nearly_out)):
            return replace(usual, rest=self._store_loss(b)) if b.kind == "harvest" else usual
        whole, of = self.habits.get(b.kind, (0, 0))
        share = (whole + 1) / (of + 2)
        return replace(usual, rest=(1 - share) / share) if b.weighed and share >= _USUAL else None

    def _no_wax(self, b: Balance) -> float:
        """The share of a melt that is no wax, as such passes have it: its size, so that its scatter counts too."""
        usual = self.slack(self.yields[b.session, b.number]) if (b.session, b.number) in self.yields else None
        return 1.0 if usual is None else min(max(hypot(usual.mean, usual.sd), _LEAST_LEFT), 1.0)

    def _shrunk(self, b: Balance) -> Slack:
        """The usual loss of steps alike, drawn towards nothing and the prior scatter while there are few."""
        group, prior = self.found.get(b.alike[0], _Group()), PRIOR_SHARE[b.kind]
        group = group if group.n >= FEWEST_FOR_HISTORY else _Group()
        own = sqrt(max(group.sd**2 - self.scatter[b.alike[0]], 0.0)) if group.n else 0.0
        return Slack(group.mean * group.n / (group.n + _PRIOR_WEIGHT), _pooled(own, group.n, prior), group.n)

    def _of_few(self, b: Balance, prior: float) -> float:
        """The scatter of a few steps alike, this one left out, drawn towards the prior and never over it."""
        others = self._others(b)
        if len(others) < _FEW_OF_ITS_OWN:
            return prior
        spread_2 = (MAD_TO_SD * float(np.median(np.abs(others)))) ** 2 - self.scatter[b.alike[0]]
        return _pooled(min(sqrt(max(spread_2, 0.0)), prior), len(others), prior)

    def _others(self, b: Balance) -> list[float]:
        """The shares lost at the other steps of its very kind."""
        others = list(self.shares.get(b.alike[0], ()))
        if b.weighed and b.lost_share in others:
            others.remove(b.lost_share)
        return others

    def _store_loss(self, b: Balance) -> float:
        """How often other emptied harvests of this book lost something in store."""
        own = (b.closed and b.weighed, b.closed and b.weighed and self._lost(b))
        emptied, lost = (whole - mine for whole, mine in zip(self.emptied, own, strict=True))
        return (lost + _NEVER_SEEN) / (emptied + 2)

    def _lost(self, b: Balance) -> bool:
        return b.in_g > b.out_g and b not in self.nearly_out

    def _history(self, b: Balance) -> Slack | None:
        """The closest steps alike of which there are enough; wider ones only where some of them are of its own kind."""
        own = self.found.get(b.alike[0], _Group())
        for key in b.alike:
            if b.kind == "yield" and b.alike[0][1] != "refining" and b.alike[0][3] not in key:
                continue
            group = self.found.get(key, _Group())
            sd = group.sd if key == b.alike[0] else max(group.sd, group.whole_sd)
            like = own.n >= _FEW_OF_ITS_OWN and abs(own.mean - group.mean) <= 2 * sd
            if group.n >= FEWEST_FOR_HISTORY and (like or b.alike[0][1] == "refining"):
                within = self._known(str(b.alike[0][0]), *b.alike[0][1:4]).within
                sd = sqrt((_TRADE_WEIGHT * within**2 + group.n * sd**2) / (_TRADE_WEIGHT + group.n))
                return Slack(group.mean, max(sd, 0.002) * _widening(group.n), group.n)
        return None

    def _judged(self, b: Balance) -> Slack:
        """The trade's knowledge of such a step, drawn towards the few of the book's own that are not beyond it."""
        kind, stage, method, comb, _ = b.alike[0]
        known = self._known(str(kind), stage, method, comb)
        reach = _NEAR * sqrt(known.between**2 + known.within**2)
        own = [x for x in self._others(b) if abs(x - known.mean) <= reach]
        trade, here = 1 / known.between**2, len(own) / known.within**2
        mean = (trade * known.mean + here * (sum(own) / len(own) if own else 0.0)) / (trade + here)
        return Slack(mean, sqrt(1 / (trade + here) + known.within**2), len(own), judged=True)

    def _known(self, kind: str, stage: str | None, method: str | None, comb: str | None) -> _Judged:
        if stage == "refining":
            return _REFINING if kind == "yield" else _REMELTED
        low, high = self.expected(comb, method)
        if kind == "melt":
            return _MELTED if comb in _DRY else _CAPPINGS if comb == "cappings" else _HONEYED
        return _Judged(1 - (low + high) / 2, (high - low) / _TEN_TO_NINETY_SIGMAS, _YIELD_WITHIN)


_MELTS = ("melt", "yield")
_EMPTIED = ("harvest", "block")
_STORES = ("harvest", "block", "slumgum", "wax")


def _robust(shares: Floats) -> _Group:
    """Mean, sd and number after putting aside what lies beyond four robust sd of the median."""
    middle = float(np.median(shares))
    spread = MAD_TO_SD * float(np.median(np.abs(shares - middle)))
    kept = shares[np.abs(shares - middle) <= max(4 * spread, 1e-4)]
    but_one = np.delete(shares, np.argmax(np.abs(shares - middle)))
    sd, whole_sd = (float(np.std(x, ddof=1)) if len(x) > 1 else 0.0 for x in (kept, but_one))
    return _Group(float(np.mean(kept)), sd, whole_sd, len(kept))


def _pooled(sd: float, n: int, prior: float) -> float:
    return sqrt((_PRIOR_WEIGHT * prior**2 + n * sd**2) / (_PRIOR_WEIGHT + n))


@cache
def _widening(n: int) -> float:
    """A predictive t's 99 % point over a normal's, so that few sessions do not look more certain than they are."""
    return t_quantile(0.995, n - 1) / normal_quantile(0.995) * sqrt(1 + 1 / n)
