"""The weighings of a book as balances: what was weighed twice, or follows from what was weighed, step by step.

Four kinds of balance: a *store* (harvest, block, slumgum: in = out, once it is known or usual that all is out), a
*join* (wax of the last pass + loads = mass_in), a *melt* (mass_in = wax_out + residue + the usual unaccounted) and a
*casting* (last wax_out = blocks + wax passed on). Each has a slack, a stream of its own: what usually goes missing
there in this book, with its scatter.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import sqrt

import numpy as np
from scipy import stats

from pipeline.analyses.balance import Floats, Network

FEWEST_FOR_HISTORY = 6
"""Steps alike needed before their usual loss is taken for known."""

PRIOR_SHARE = {"harvest": 0.003, "block": 0.002, "slumgum": 0.03, "join": 0.002, "cast": 0.005, "wax": 0.003}
"""Scatter of the slack before the book shows its own, as a share of the mass: a judgement, no source."""
_PRIOR_WEIGHT = 4
_USUAL = 0.8


@dataclass(frozen=True, slots=True)
class Weight:
    """One mass cell of a log; ``mass_g`` None where it was not weighed."""

    log: str
    row: int
    column: str
    mass_g: float | None


@dataclass(frozen=True, slots=True)
class Balance:
    """What goes in and what comes out at one step.

    ``kind``: harvest, block, slumgum, wax, join, melt or cast. ``closed``: known to be whole (emptied, counted,
    cast); an open store is used only where nearly all is out or more than all. ``alike``: keys of steps to compare
    with, closest first. ``session``, ``date`` and ``place`` (log, row) are for people. ``missing``: the log in
    which a row may be missing.
    """

    kind: str
    name: str
    into: tuple[Weight, ...]
    out: tuple[Weight, ...]
    closed: bool
    alike: tuple[tuple[str | None, ...], ...]
    session: str | None
    place: tuple[str, int]
    missing: str | None

    @property
    def weighed(self) -> bool:
        """Whether every mass in it was weighed."""
        return all(w.mass_g is not None for w in (*self.into, *self.out))

    @property
    def in_g(self) -> float:
        """What went in, weighed masses only."""
        return sum(w.mass_g or 0.0 for w in self.into)

    @property
    def out_g(self) -> float:
        """What came out, weighed masses only."""
        return sum(w.mass_g or 0.0 for w in self.out)


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

    ``balances`` are those in the network (slack i belongs to balance i); ``left_out`` could not be checked.
    """

    network: Network
    weights: tuple[Weight, ...]
    balances: tuple[Balance, ...]
    slacks: tuple[Slack, ...]
    left_out: tuple[Balance, ...]


Uncertainty = Callable[[str, float], float]
"""(log, grams) -> standard uncertainty of one weighing, g."""


def weighed(balances: Sequence[Balance], uncertainty: Uncertainty) -> Weighed:
    """The network of all balances that can be checked."""
    usual = _Usual(balances, uncertainty)
    kept: list[tuple[Balance, Slack]] = []
    out: list[Balance] = []
    for balance in balances:
        slack = usual.slack(balance)
        if slack is None:
            out.append(balance)
        else:
            kept.append((balance, slack))
    return _network(kept, out, uncertainty)


@dataclass
class _Usual:
    """What is usual in this book at each kind of step."""

    balances: Sequence[Balance]
    uncertainty: Uncertainty
    found: dict[tuple[str | None, ...], tuple[float, float, int]] = field(default_factory=dict)
    habits: dict[str, tuple[int, int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        shares: dict[tuple[str | None, ...], list[float]] = defaultdict(list)
        for b in self.balances:
            if b.weighed and b.in_g > 0 and (b.closed or self._nearly_out(b)):
                for key in b.alike:
                    shares[key].append((b.in_g - b.out_g) / b.in_g)
        self.found = {key: _robust(np.array(values)) for key, values in shares.items()}
        stores = [b for b in self.balances if b.weighed and b.kind in _STORES and b.out]
        for kind in _STORES:
            here = [b for b in stores if b.kind == kind]
            self.habits[kind] = (sum(b.closed or self._nearly_out(b) for b in here), len(here))

    def _nearly_out(self, b: Balance) -> bool:
        scatter = sqrt(sum(self.uncertainty(w.log, w.mass_g or 0.0) ** 2 for w in (*b.into, *b.out)))
        reach = 4 * sqrt(scatter**2 + (PRIOR_SHARE.get(b.kind, 0.0) * b.in_g) ** 2)
        return abs(b.in_g - b.out_g) <= reach

    def slack(self, b: Balance) -> Slack | None:
        """The slack of a balance, None where it cannot be checked: no history, or a store that need not be empty."""
        if (b.weighed and b.in_g <= 0) or not b.out:
            return None
        if b.kind == "melt":
            return self._history(b)
        mean, sd, n = self.found.get(b.alike[0], (0.0, 0.0, 0))
        prior = PRIOR_SHARE[b.kind]
        shrunk = Slack(mean * n / (n + _PRIOR_WEIGHT), _pooled(sd, n, prior), n)
        if b.closed or (b.weighed and (self._nearly_out(b) or b.out_g > b.in_g)):
            return shrunk
        whole, of = self.habits.get(b.kind, (0, 0))
        share = (whole + 1) / (of + 2)
        return replace(shrunk, rest=(1 - share) / share) if b.weighed and share >= _USUAL else None

    def _history(self, b: Balance) -> Slack | None:
        for key in b.alike:
            mean, sd, n = self.found.get(key, (0.0, 0.0, 0))
            if n >= FEWEST_FOR_HISTORY:
                return Slack(mean, max(sd, 0.002) * _widening(n), n)
        return None


_STORES = ("harvest", "block", "slumgum", "wax")


def _robust(shares: Floats) -> tuple[float, float, int]:
    """Mean, sd and number after putting aside what lies beyond four robust sd of the median."""
    middle = float(np.median(shares))
    spread = 1.4826 * float(np.median(np.abs(shares - middle)))
    kept = shares[np.abs(shares - middle) <= max(4 * spread, 1e-4)]
    sd = float(np.std(kept, ddof=1)) if len(kept) > 1 else 0.0
    return float(np.mean(kept)), sd, len(kept)


def _pooled(sd: float, n: int, prior: float) -> float:
    return sqrt((_PRIOR_WEIGHT * prior**2 + n * sd**2) / (_PRIOR_WEIGHT + n))


def _widening(n: int) -> float:
    """A predictive t's 99 % point over a normal's, so that few sessions do not look more certain than they are."""
    return float(stats.t.ppf(0.995, n - 1) / stats.norm.ppf(0.995)) * sqrt(1 + 1 / n)


@dataclass
class _Entries:
    """Balances as sparse rows, while unweighed streams are eliminated from them."""

    rows: list[dict[int, float]] = field(default_factory=list)

    def eliminate(self, unweighed: Sequence[int]) -> None:
        """Take each unweighed stream out of all rows by the first row that holds it; that row is used up."""
        holding: dict[int, set[int]] = defaultdict(set)
        for i, row in enumerate(self.rows):
            for stream in row:
                holding[stream].add(i)
        for stream in unweighed:
            here = sorted(holding.pop(stream, ()))
            if not here:
                continue
            pivot = self.rows[here[0]]
            for i in here[1:]:
                self._subtract(i, pivot, self.rows[i][stream] / pivot[stream], holding)
                self.rows[i].pop(stream, None)
            for other in pivot:
                holding[other].discard(here[0])
            self.rows[here[0]] = {}

    def _subtract(self, i: int, pivot: dict[int, float], times: float, holding: dict[int, set[int]]) -> None:
        for other, coefficient in pivot.items():
            new = self.rows[i].get(other, 0.0) - times * coefficient
            if abs(new) < 1e-12:
                self.rows[i].pop(other, None)
                holding[other].discard(i)
            else:
                self.rows[i][other] = new
                holding[other].add(i)


def _network(
    kept: Sequence[tuple[Balance, Slack]], left_out: Sequence[Balance], uncertainty: Uncertainty
) -> Weighed:
    number: dict[Weight, int] = {}
    for balance, _ in kept:
        for w in (*balance.into, *balance.out):
            number.setdefault(w, len(number))
    entries = _Entries()
    sds = []
    for i, (balance, slack) in enumerate(kept):
        row: dict[int, float] = defaultdict(float)
        for w in balance.into:
            row[number[w]] += 1 - slack.mean
        for w in balance.out:
            row[number[w]] -= 1.0
        row[len(number) + i] = -1.0
        entries.rows.append(dict(row))
        sds.append(max(slack.sd * _size(balance, slack), 1e-3))
    entries.eliminate([i for w, i in number.items() if w.mass_g is None])
    value = [w.mass_g or 0.0 for w in number] + [0.0] * len(kept)
    sd = [uncertainty(w.log, w.mass_g or 0.0) for w in number] + sds
    used, slacks = (tuple(column) for column in zip(*kept, strict=True)) if kept else ((), ())
    return Weighed(_sparse(value, sd, entries), tuple(number), used, slacks, tuple(left_out))


def _sparse(value: Sequence[float], sd: Sequence[float], entries: _Entries) -> Network:
    rows = [row for row in entries.rows if row]
    flat = [(i, stream, c) for i, row in enumerate(rows) for stream, c in row.items()]
    row, stream, coefficient = (np.array(column) for column in zip(*flat, strict=True)) if flat else (np.zeros(0),) * 3
    return Network(
        np.array(value, float), np.array(sd, float) ** 2,
        row.astype(np.int64), stream.astype(np.int64), coefficient.astype(np.float64), len(rows),
    )  # fmt: skip


def _size(balance: Balance, slack: Slack) -> float:
    """The mass at a step, taken so that one wrong weight cannot blow it up."""
    sides = [s for s in (balance.in_g, balance.out_g / max(1 - slack.mean, 0.05)) if s > 0]
    return min(sides, default=0.0) if balance.weighed else max(sides, default=0.0)
