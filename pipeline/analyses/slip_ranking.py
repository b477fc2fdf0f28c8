"""Explanations of balances that do not close, ranked by how likely each is: one slip, or two where no single one does.

A slip moves the gaps by a shift D; the global test then stands at g - 2 D'V⁻¹r + D'V⁻¹D, so that every slip, and every
pair of slips, is judged in closed form, all at once. Each is weighed by how often such a slip is made.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, log, pi, sqrt
from typing import NamedTuple

import numpy as np

from pipeline.analyses.balance_least_squares import Flags, Floats, Ints
from pipeline.analyses.distributions import chi2_above
from pipeline.analyses.weight_in_doubt import FAINTEST, Problem

SLIP = 0.005
"""How often one weight is a slip: a judgement, no source."""
LEVEL = 0.01
"""Balances are looked into, and two slips tried, when the global test, or its largest single test, is rarer than this."""
_NEGLIGIBLE = 12.0
"""Pairs so much less likely (in log odds) than the likeliest explanation are left out."""
_MOST = 1500
"""Slips paired with one another at most, the likeliest alone."""


@dataclass(frozen=True, slots=True, eq=False)
class Slip:
    """One thing that may have happened. ``streams``: the columns that it makes worthless, the blamed one first.

    ``kind``: of :data:`typing_slips.PRIOR`, or of a slack ``missing row``, ``rest``, ``odd``. ``along`` (balances,): by
    how much it moves the gaps for a gram; the slips of one weight share it. ``likely_g``: the weight
    meant; ``error_g``: what the stream is too heavy by; ``likely``: the name meant; ``row``: the balance, of all that can
    be checked, into which a wrongly named weight belongs. ``detail``, ``taken_off``, ``coarse_g``: see
    :class:`typing_slips.Candidate`.
    """

    kind: str
    streams: tuple[int, ...]
    prior: float
    along: Floats
    likely_g: float | None = None
    error_g: float = 0.0
    detail: str = ""
    taken_off: bool = False
    likely: str | None = None
    row: int | None = None
    coarse_g: float = 0.0

    @property
    def shift(self) -> Floats:
        """By how much it moves the gaps, g; (balances,)."""
        return self.error_g * self.along


@dataclass(frozen=True, slots=True)
class Open:
    """A slip of unknown size. ``size``: g; even over it, or (``normal``) its sd.

    ``gain``: whether only a positive size makes sense; ``most_g``: the largest that can be; ``mass_g``: the weight that
    would become ``mass_g - size``; ``often``: so common that it is thought of beside every slip; ``likelier``: log odds
    for a size, g, beside the even ones.
    """

    slip: Slip
    size: float
    normal: bool = False
    gain: bool = False
    mass_g: float | None = None
    often: bool = False
    most_g: float = inf
    likelier: Callable[[float], float] | None = None


@dataclass(frozen=True, slots=True)
class Explanation:
    """One way to make the balances close: no slip (chance alone), one, or two."""

    slips: tuple[Slip, ...]
    chance: float


_Scored = tuple[float, tuple[Slip, ...]]


def explanations(problem: Problem, known: Sequence[Slip], opens: Sequence[Open]) -> list[Explanation]:
    """All explanations, most likely first; their chances sum to one."""
    alone = _Known(problem, known), _Opens(problem, opens)
    scored: list[_Scored] = [(log(1 - SLIP), ())]
    for part in alone:
        scored += part.singles()
    least = max(score for score, _ in scored) - _NEGLIGIBLE
    often = np.array([o.often for o in alone[1].opens], bool)
    best = max(scored[1:], key=lambda s: s[0], default=scored[0])[1]
    if best and _unexplained(problem, best[0], alone[0]):
        scored += _two_known(alone[0], least) + _known_and_open(*alone, least, np.ones_like(often))
    elif often.any():
        scored += _known_and_open(*alone, least, often)
    top = max(score for score, _ in scored)
    weights = np.exp(np.array([score for score, _ in scored]) - top)
    found = [Explanation(s, float(w)) for (_, s), w in zip(scored, weights / weights.sum(), strict=True)]
    return sorted(found, key=lambda e: -e.chance)


class _Known:
    """The slips of known size, their scores alone; ``way`` (n,): the place of each one's direction in ``along`` (ways, k)."""

    def __init__(self, problem: Problem, slips: Sequence[Slip]) -> None:
        self.slips, self._problem = slips, problem
        along = {id(s.along): s.along for s in slips}
        place = {way: at for at, way in enumerate(along)}
        self.along = np.array(list(along.values())).reshape(len(along), len(problem.gap))
        self.way = np.array([place[id(s.along)] for s in slips], np.int64)
        self.first = np.array([s.streams[0] for s in slips], np.int64)
        self.error, self.coarse, self.prior = (
            np.array([(s.error_g, s.coarse_g, s.prior) for s in slips]).reshape(-1, 3).T
        )
        gain, rounded = self._gains(problem, np.ones(len(slips), np.bool_))
        # two slips are held to what is written, as what rounding may explain is the other's
        self.beside = self.prior + gain / 2
        self.gain = gain + rounded
        for stream, other in problem.doubted.items():
            mine = self.first == stream
            gain, rounded = self._gains(other, mine)
            self.gain[mine] = gain + rounded + problem.g - other.g - other.log_size + problem.log_size
        self.score = self.prior + self.gain / 2

    def _gains(self, problem: Problem, which: Flags) -> tuple[Floats, Floats]:
        """What some gain, and what the rounding of the weights meant adds to it: whole ounces, tenths of a pound."""
        ways, way = np.unique(self.way[which], return_inverse=True)
        along, error = self.along[ways], self.error[which]
        pulls = along @ problem.inverse
        weight, top = np.einsum("wk,wk->w", pulls, along)[way], (pulls @ problem.gap)[way]
        spread = self.coarse[which] ** 2 / 12
        size = 1 + weight * spread
        return error * (2 * top - error * weight), (top - error * weight) ** 2 * spread / size - np.log(size)

    def singles(self) -> list[_Scored]:
        return [(score, (slip,)) for score, slip in zip(self.score.tolist(), self.slips, strict=True)]

    def worth_pairing(self, other: Floats, least: float) -> _Paired:
        """Those that may come to ``least`` beside one of ``other`` priors: no two gain more than closes all balances.

        Only the likeliest of them alone, where there are too many to pair.
        """
        likeliest = np.argsort(-self.score, kind="stable")[:_MOST]
        able = self.prior[likeliest] + other.max(initial=-inf) + self._problem.g / 2 > least
        kept = np.sort(likeliest[able])
        shifts = self.error[kept, None] * self.along[self.way[kept]]
        slips = [self.slips[i] for i in kept.tolist()]
        return _Paired(slips, self.first[kept], shifts, shifts @ self._problem.inverse, self.beside[kept])


class _Paired(NamedTuple):
    """Slips to be paired, their blamed streams (n,), shifts and pulls (n, k), and their scores beside another."""

    slips: list[Slip]
    first: Ints
    shifts: Floats
    pulls: Floats
    beside: Floats


class _Opens:
    """The slips of unknown size: each one's score is ``constant + factor * pull²``."""

    def __init__(self, problem: Problem, opens: Sequence[Open]) -> None:
        f = np.array([o.slip.along for o in opens]).reshape(len(opens), len(problem.gap))
        weight = np.einsum("nk,nk->n", f @ problem.inverse, f)
        told = weight * np.array([o.size for o in opens]) ** 2 > FAINTEST
        self.opens = [o for o, t in zip(opens, told, strict=True) if t]
        self.first = np.array([o.slip.streams[0] for o in self.opens], np.int64)
        limits = [(o.gain, min(o.most_g, inf if o.normal else o.size)) for o in self.opens]
        self.gain, self.most = np.array(limits).reshape(-1, 2).T
        self.shifts, self.weight = f[told], weight[told]
        self.pull = self.shifts @ problem.inverse @ problem.gap
        self.beside = self.pull.copy(), *self._figures()
        less = np.zeros(len(self.opens))
        for stream, other in problem.doubted.items():
            mine = self.first == stream
            pulls = self.shifts[mine] @ other.inverse
            self.pull[mine], self.weight[mine] = pulls @ problem.gap, np.einsum("nk,nk->n", pulls, self.shifts[mine])
            less[mine] = (problem.g - other.g - other.log_size + problem.log_size) / 2
        self.constant, self.factor = self._figures()
        self.constant = self.constant + less

    def _figures(self) -> tuple[Floats, Floats]:
        figures = [_even_or_normal(o, w) for o, w in zip(self.opens, self.weight, strict=True)]
        constant, factor = np.array(figures).reshape(-1, 2).T
        return constant, factor

    def singles(self) -> list[_Scored]:
        score = self.constant + self.factor * self.pull**2
        found = [
            (float(score[i]), self.slip(int(i), self.pull[i]), self.opens[i])
            for i in np.flatnonzero(self.possible(np.arange(len(self.opens)), self.pull))
        ]
        return [(s + (o.likelier(slip.error_g) if o.likelier else 0.0), (slip,)) for s, slip, o in found]

    def possible(self, which: Ints, pull: Floats) -> Flags:
        """Whether some of them (n,), pulled so hard (n,), have a size that makes sense."""
        weight = self.weight[which]
        most = self.most[which] + 3 / np.sqrt(weight)
        return np.asarray(((pull > 0) | (self.gain[which] == 0)) & (np.abs(pull) <= most * weight), np.bool_)

    def slip(self, i: int, pull: float) -> Slip:
        """One of them with its likeliest size."""
        o, size = self.opens[i], float(pull / self.weight[i])
        likely = size if o.slip.kind == "missing row" else None if o.mass_g is None else max(o.mass_g - size, 0.0)
        return replace(o.slip, error_g=size, likely_g=likely)


def _even_or_normal(o: Open, weight: float) -> tuple[float, float]:
    if o.normal:
        spread = weight * o.size**2
        return o.slip.prior - log(1 + spread) / 2, o.size**2 / (1 + spread) / 2
    return o.slip.prior + log(sqrt(2 * pi / weight) / o.size), 1 / (2 * weight)


def _unexplained(problem: Problem, slip: Slip, known: _Known) -> bool:
    """Whether the balances still fail with the best single slip mended, or only an odd step mends them."""
    if slip.kind == "odd":
        return True
    at = next((i for i, s in enumerate(known.slips) if s is slip), None)
    gain = float(known.gain[at]) if at is not None else slip.error_g**2 * _weight(problem, slip)
    return bool(chi2_above(np.array([max(len(problem.gap) - 1, 1)]), np.array([problem.g - gain]))[0] < LEVEL)


def _weight(problem: Problem, slip: Slip) -> float:
    return float(slip.along @ problem.inverse @ slip.along)


def _two_known(known: _Known, least: float) -> list[_Scored]:
    """Two slips of known size at two streams, as far as they are not negligible."""
    paired = known.worth_pairing(known.prior, least)
    found: list[_Scored] = []
    for stream in np.unique(paired.first):
        one, two = np.flatnonzero(paired.first == stream), np.flatnonzero(paired.first > stream)
        both = paired.beside[one, None] + paired.beside[two] - paired.pulls[one] @ paired.shifts[two].T
        least = max(least, both.max(initial=-inf) - _NEGLIGIBLE)
        found += [
            (float(both[i, j]), (paired.slips[one[i]], paired.slips[two[j]]))
            for i, j in (divmod(at, len(two)) for at in np.flatnonzero(both > least).tolist())
        ]
    return [pair for pair in found if pair[0] > least]


def _known_and_open(known: _Known, opens: _Opens, least: float, which: Flags) -> list[_Scored]:
    """A slip of known size beside one of unknown size at another stream, of those in ``which``."""
    alone, constant, factor = opens.beside
    paired = known.worth_pairing(constant[which], least)
    pull = alone - paired.pulls @ opens.shifts.T
    score = paired.beside[:, None] + constant + factor * pull**2
    one, two = np.nonzero(score > least)
    able = which[two] & (paired.first[one] != opens.first[two]) & opens.possible(two, pull[one, two])
    one, two = one[able], two[able]
    told = score[one, two]
    near = told > told.max(initial=-inf) - _NEGLIGIBLE
    return [
        (float(score[i, j]), (paired.slips[i], opens.slip(j, pull[i, j])))
        for i, j in zip(one[near].tolist(), two[near].tolist(), strict=True)
    ]


def by_stream(found: Sequence[Explanation]) -> Mapping[int, list[tuple[Slip, float]]]:
    """What each stream is blamed for, most likely first, with the chance; an exchange stands under both its rows."""
    blamed: dict[int, list[tuple[Slip, float]]] = {}
    for e in found:
        for slip in e.slips:
            for stream in slip.streams if slip.kind in _OF_BOTH else slip.streams[:1]:
                blamed.setdefault(stream, []).append((slip, e.chance))
    return blamed


_OF_BOTH = ("rows exchanged",)
