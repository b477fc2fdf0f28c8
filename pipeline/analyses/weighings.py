"""The weighings of a book as balances: what was weighed twice, or follows from what was weighed, step by step.

Five kinds of balance: a *store* (harvest, block, slumgum: in = out, once it is known or usual that all is out), a
*join* (wax of the last pass + loads = mass_in), a *melt* (mass_in = wax_out + residue + the usual unaccounted), a
*casting* (last wax_out = blocks + wax passed on) and a *shelf* counted whole (the blocks then on it = what was found).
Each has a slack, a stream of its own: what usually goes missing there in this book, with its scatter.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from math import sqrt
from typing import NamedTuple

import numpy as np

from pipeline.analyses.balance import Floats, Network
from pipeline.analyses.distributions import normal_quantile, t_quantile
from pipeline.analyses.sparse_balances import Entries

_FEW_OF_ITS_OWN = 2
"""Steps of the very kind that must be there before the usual loss of wider kinds stands in for it."""
FEWEST_FOR_HISTORY = 6
"""Steps alike needed before their usual loss is taken for known."""

PRIOR_SHARE = {"harvest": 0.003, "block": 0.002, "slumgum": 0.03, "join": 0.002, "cast": 0.005, "wax": 0.003,
               "shelf": 0.002}  # fmt: skip
"""Scatter of the slack before the book shows its own, as a share of the mass: a judgement, no source."""
_NEVER_SEEN = 0.2
"""Losses in store taken for seen in a book without any (thrown out, eaten by moths): a judgement, no source."""
_PRIOR_WEIGHT = 4
"""How many steps alike that scatter is worth: a judgement, no source."""
_USUAL = 0.9
"""Share of stores of a kind found empty from which another is expected to be: a judgement, no source."""


class Weight(NamedTuple):
    """One mass cell of a log; ``mass_g`` None where it was not weighed."""

    log: str
    row: int
    column: str
    mass_g: float | None


@dataclass(frozen=True, eq=False, slots=True)
class Balance:
    """What goes in and what comes out at one step.

    ``kind``: harvest, block, slumgum, wax, join, melt, cast or shelf; ``of``: which harvest, block or session, or the
    date of the count; ``number``: of the pass. ``closed``: known to be whole (emptied, counted, cast); an open store is
    used only where nearly all is out or more than all. ``alike``: keys of steps to compare with, closest first.
    ``session``: where it is shown. ``weighed``: whether every mass in it was; ``in_g``, ``out_g``: weighed masses only.
    """

    kind: str
    of: str
    into: tuple[Weight, ...]
    out: tuple[Weight, ...]
    closed: bool
    alike: tuple[tuple[str | None, ...], ...]
    session: str | None
    number: int | None = None
    weighed: bool = field(init=False)
    in_g: float = field(init=False)
    out_g: float = field(init=False)

    def __post_init__(self) -> None:
        """Sum both sides once."""
        into, out = ([w.mass_g for w in side] for side in (self.into, self.out))
        object.__setattr__(self, "weighed", None not in into and None not in out)
        object.__setattr__(self, "in_g", sum([g for g in into if g]))
        object.__setattr__(self, "out_g", sum([g for g in out if g]))

    @property
    def unweighed(self) -> list[Weight]:
        """The masses in it that nobody weighed."""
        return [] if self.weighed else [w for w in (*self.into, *self.out) if w.mass_g is None]

    @property
    def name(self) -> str:
        """The balance in words."""
        return _NAMES[self.kind].format(of=self.of, number=self.number)

    @property
    def missing(self) -> str | None:
        """The log in which a row may be missing where too little came out."""
        return {"harvest": "loads", "block": "draws", "cast": "blocks", "shelf": "draws"}.get(self.kind)


@dataclass(frozen=True, slots=True)
class Slack:
    """What usually goes missing at a balance: share of the mass and its scatter; ``rest``: odds that some is left."""

    mean: float
    sd: float
    n: int
    rest: float = 0.0


@dataclass(frozen=True)
class Weighed:
    """A book's balances as a network. Streams: first ``weights``, then one slack per entry of ``slacks``.

    ``balances`` are those that can be checked; slack i belongs to balance i.
    """

    network: Network
    weights: tuple[Weight, ...]
    balances: tuple[Balance, ...]
    slacks: tuple[Slack, ...]

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


_NAMES = {
    "harvest": "harvest {of}", "block": "block {of}", "cast": "the wax of session {of}", "wax": "the wax of session {of}",
    "slumgum": "the slumgum of session {of}", "join": "what went into pass {number} of session {of}",
    "melt": "pass {number} of session {of}", "shelf": "the shelf on {of}",
}  # fmt: skip

Uncertainty = Callable[[str, float], float]
"""(log, grams) -> standard uncertainty of one weighing, g."""


def weighed(balances: Sequence[Balance], uncertainty: Uncertainty) -> Weighed:
    """The network of all balances that can be checked."""
    usual = _Usual(balances, uncertainty)
    kept = [(balance, slack) for balance in balances if (slack := usual.slack(balance)) is not None]
    return _network(kept, uncertainty)


@dataclass(frozen=True, slots=True)
class _Group:
    """Shares lost at steps alike: mean and sd without outliers, and the sd of all but the farthest one."""

    mean: float = 0.0
    sd: float = 0.0
    whole_sd: float = 0.0
    n: int = 0


@dataclass
class _Usual:
    """What is usual in this book at each kind of step."""

    balances: Sequence[Balance]
    uncertainty: Uncertainty
    found: dict[tuple[str | None, ...], _Group] = field(default_factory=dict)
    habits: dict[str, tuple[int, int]] = field(default_factory=dict)
    emptied: tuple[int, int] = (0, 0)
    nearly_out: frozenset[Balance] = frozenset()
    slacks: dict[tuple[str | None, ...], Slack | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        stores = [b for b in self.balances if b.weighed and b.kind in _STORES and b.out]
        self.nearly_out = frozenset(b for b in stores if self._nearly_out(b))
        shares: dict[tuple[str | None, ...], list[float]] = defaultdict(list)
        for b in self.balances:
            if b.weighed and b.in_g > 0 and (b.closed or b in self.nearly_out):
                for key in b.alike:
                    shares[key].append((b.in_g - b.out_g) / b.in_g)
        self.found = {key: _robust(np.array(values)) for key, values in shares.items()}
        closed = [b for b in self.balances if b.kind == "harvest" and b.closed and b.weighed]
        self.emptied = (len(closed), sum(self._lost(b) for b in closed))
        for kind in _STORES:
            here = [b for b in stores if b.kind == kind]
            self.habits[kind] = (sum(b.closed or b in self.nearly_out for b in here), len(here))

    def _nearly_out(self, b: Balance) -> bool:
        scatter = sqrt(sum(self.uncertainty(w.log, w.mass_g or 0.0) ** 2 for w in (*b.into, *b.out)))
        reach = 4 * sqrt(scatter**2 + (PRIOR_SHARE.get(b.kind, 0.0) * b.in_g) ** 2)
        return abs(b.in_g - b.out_g) <= reach

    def slack(self, b: Balance) -> Slack | None:
        """The slack of a balance, None where it cannot be checked: no history, or a store that need not be empty."""
        if (b.weighed and b.in_g <= 0) or not b.out:
            return None
        if b.alike[0] not in self.slacks:
            self.slacks[b.alike[0]] = self._history(b) if b.kind == "melt" else self._shrunk(b)
        usual = self.slacks[b.alike[0]]
        if usual is None or b.kind == "melt":
            return usual
        if b.closed or (b.weighed and (b.out_g > b.in_g or b in self.nearly_out)):
            return replace(usual, rest=self._store_loss(b)) if b.kind == "harvest" else usual
        whole, of = self.habits.get(b.kind, (0, 0))
        share = (whole + 1) / (of + 2)
        return replace(usual, rest=(1 - share) / share) if b.weighed and share >= _USUAL else None

    def _shrunk(self, b: Balance) -> Slack:
        """The usual loss of steps alike, drawn towards nothing and the prior scatter while there are few."""
        group, prior = self.found.get(b.alike[0], _Group()), PRIOR_SHARE[b.kind]
        group = group if group.n >= FEWEST_FOR_HISTORY else _Group()
        return Slack(group.mean * group.n / (group.n + _PRIOR_WEIGHT), _pooled(group.sd, group.n, prior), group.n)

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
            group = self.found.get(key, _Group())
            sd = group.sd if key == b.alike[0] else max(group.sd, group.whole_sd)
            like = own.n >= _FEW_OF_ITS_OWN and abs(own.mean - group.mean) <= 2 * sd
            if group.n >= FEWEST_FOR_HISTORY and (like or b.alike[0][2] == "refining"):
                return Slack(group.mean, max(sd, 0.002) * _widening(group.n), group.n)
        return None


_STORES = ("harvest", "block", "slumgum", "wax")


def _robust(shares: Floats) -> _Group:
    """Mean, sd and number after putting aside what lies beyond four robust sd of the median."""
    middle = float(np.median(shares))
    spread = 1.4826 * float(np.median(np.abs(shares - middle)))
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


def _network(kept: Sequence[tuple[Balance, Slack]], uncertainty: Uncertainty) -> Weighed:
    number: dict[Weight, int] = {}
    for balance, _ in kept:
        for w in (*balance.into, *balance.out):
            number.setdefault(w, len(number))
    entries = Entries()
    for i, (balance, slack) in enumerate(kept):
        streams = [number[w] for w in (*balance.into, *balance.out)]
        coefficients = [1 - slack.mean] * len(balance.into) + [-1.0] * (len(balance.out) + 1)
        entries.add([*streams, len(number) + i], coefficients, balance.weighed)
    entries.eliminate([i for w, i in number.items() if w.mass_g is None])
    value = np.zeros(len(number) + len(kept))
    value[: len(number)] = np.fromiter((w.mass_g or 0.0 for w in number), float, len(number))
    sds = [uncertainty(w.log, w.mass_g or 0.0) for w in number]
    sds += [max(slack.sd * _size(balance, slack), 1e-3) for balance, slack in kept]
    used, slacks = (tuple(column) for column in zip(*kept, strict=True)) if kept else ((), ())
    return Weighed(entries.network(value, np.array(sds) ** 2), tuple(number), used, slacks)


def _size(balance: Balance, slack: Slack) -> float:
    """The mass at a step, taken so that one wrong weight cannot blow it up."""
    sides = [s for s in (balance.in_g, balance.out_g / max(1 - slack.mean, 0.05)) if s > 0]
    return min(sides, default=0.0) if balance.weighed else max(sides, default=0.0)
