"""Explanations of balances that do not close, ranked by how likely each is: one slip, or two where no single one does.

A slip moves the gaps by a shift D; the global test then stands at g - 2 D'V⁻¹r + D'V⁻¹D, so that every slip, and every
pair of slips, is judged in closed form, all at once. Each is weighed by how often such a slip is made.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, log, pi, sqrt
from typing import NamedTuple

import numpy as np

from pipeline.analyses.balance_least_squares import Flags, Floats, Ints
from pipeline.analyses.distributions import chi2_above
from pipeline.analyses.slip import Open, Slip, SlipsOfWeight
from pipeline.analyses.weight_in_doubt import FAINTEST, Problem

SLIP = 0.005
"""How often one weight is a slip: a judgement, no source."""
LEVEL = 0.01
"""Balances are looked into, and two slips tried, when the global test, or its largest single test, is rarer than this."""
_NEGLIGIBLE = 12.0
"""Pairs so much less likely (in log odds) than the likeliest explanation are left out."""
_MOST = 1500
"""Slips paired with one another at most, the likeliest alone."""
_FORGOTTEN = 30.0
"""Single slips so much less likely are no explanation (a judgement): a thousand of them add less than 1e-10 to a chance."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """One way to make the balances close: no slip (chance alone), one, or two."""

    slips: tuple[Slip, ...]
    chance: float


_Scored = tuple[float, tuple[Slip, ...]]


def explanations(problem: Problem, known: Sequence[SlipsOfWeight], opens: Sequence[Open]) -> list[Explanation]:
    """All explanations, most likely first; their chances sum to one."""
    sized, unsized = _Known(problem, known), _Opens(problem, opens)
    of_any_size = unsized.singles()
    best = max([*sized.likeliest(), *_likeliest(problem, of_any_size)], key=lambda one: one.score, default=None)
    top = log(1 - SLIP) if best is None else max(log(1 - SLIP), best.score)
    scored: list[_Scored] = [(log(1 - SLIP), ()), *sized.singles(top - _FORGOTTEN)]
    scored += [single for single in of_any_size if single[0] > top - _FORGOTTEN]
    least, often = top - _NEGLIGIBLE, np.array([o.often for o in unsized.opens], bool)
    if best and _unexplained(problem, best):
        scored += _two_known(sized, least) + _known_and_open(sized, unsized, least, np.ones_like(often))
    elif often.any():
        scored += _known_and_open(sized, unsized, least, often)
    top = max(score for score, _ in scored)
    weights = np.exp(np.array([score for score, _ in scored]) - top)
    found = [Explanation(s, float(w)) for (_, s), w in zip(scored, weights / weights.sum(), strict=True)]
    return sorted(found, key=lambda e: -e.chance)


class _Likeliest(NamedTuple):
    """The likeliest single slip: its score, and what the global test gains where it is mended."""

    score: float
    slip: Slip
    gain: float


def _likeliest(problem: Problem, singles: Sequence[_Scored]) -> list[_Likeliest]:
    """Of slips with their likeliest sizes, if there is any."""
    best = max(singles, key=lambda single: single[0], default=None)
    if best is None:
        return []
    score, (slip,) = best
    return [_Likeliest(score, slip, slip.error_g**2 * float(slip.along @ problem.inverse @ slip.along))]


class _Known:
    """The slips of known size, their scores alone; ``way`` (n,): the place of each one's direction in ``along`` (ways, k)."""

    def __init__(self, problem: Problem, weights: Sequence[SlipsOfWeight]) -> None:
        self._weights, self._problem = weights, problem
        sizes = [len(w.prior) for w in weights]
        self._begin = np.cumsum([0, *sizes])
        along = {id(w.along): w.along for w in weights}
        place = {way: at for at, way in enumerate(along)}
        self.along = np.array(list(along.values())).reshape(len(along), len(problem.gap))
        self.way = np.repeat(np.array([place[id(w.along)] for w in weights], np.int64), sizes)
        self.first = np.repeat(np.array([w.streams[0] for w in weights], np.int64), sizes)
        figures = np.concatenate(
            [np.zeros((3, 0)), *(np.array([w.error_g, w.coarse_g, w.prior]) for w in weights)], axis=1
        )
        self.error, self.coarse, self.prior = figures
        gain, rounded = self._gains(problem, np.ones(len(self.first), np.bool_))
        # two slips are held to what is written, as what rounding may explain is the other's
        self.beside = self.prior + gain / 2
        self.gain = gain + rounded
        for stream, other in problem.doubted.items():
            mine = self.first == stream
            gain, rounded = self._gains(other, mine)
            self.gain[mine] = gain + rounded + problem.g - other.g - other.log_size + problem.log_size
        self.score = self.prior + self.gain / 2

    def likeliest(self) -> list[_Likeliest]:
        """The likeliest of them, if there is any."""
        if not len(self.score):
            return []
        best = int(self.score.argmax())
        return [_Likeliest(float(self.score[best]), self.slip(best), float(self.gain[best]))]

    def slip(self, i: int) -> Slip:
        """One of them, by its number."""
        at = int(np.searchsorted(self._begin, i, "right")) - 1
        return self._weights[at].made(i - int(self._begin[at]))

    def _gains(self, problem: Problem, which: Flags) -> tuple[Floats, Floats]:
        """What some gain, and what the rounding of the weights meant adds to it: whole ounces, tenths of a pound."""
        ways, way = np.unique(self.way[which], return_inverse=True)
        along, error = self.along[ways], self.error[which]
        pulls = along @ problem.inverse
        weight, top = np.einsum("wk,wk->w", pulls, along)[way], (pulls @ problem.gap)[way]
        spread = self.coarse[which] ** 2 / 12
        size = 1 + weight * spread
        return error * (2 * top - error * weight), (top - error * weight) ** 2 * spread / size - np.log(size)

    def singles(self, least: float) -> list[_Scored]:
        """Each alone, with its score, of those above the least."""
        return [(float(self.score[i]), (self.slip(i),)) for i in np.flatnonzero(self.score > least).tolist()]

    def worth_pairing(self, other: Floats, least: float) -> Ints:
        """The numbers of those that may come to ``least`` beside one of ``other`` priors: no two gain more than all is worth.

        Only the likeliest of them alone, where there are too many to pair.
        """
        likeliest = np.argsort(-self.score, kind="stable")[:_MOST]
        able = self.prior[likeliest] + other.max(initial=-inf) + self._problem.g / 2 > least
        return np.sort(likeliest[able])

    def pulls(self, along: Floats) -> Floats:
        """How hard a gram of each way pulls at each of ``along`` (n, k); (ways, n)."""
        return np.asarray(self.along @ self._problem.inverse @ along.T, np.float64)

    def pairs(self, number: Ints, least: float) -> tuple[Floats, Ints]:
        """The scores (n, n) of pairs of some of those numbered, and which: those that may come to ``least`` beside another.

        At best that is one which moves the gaps its way by just what the first leaves, and is as likely as any of its way.
        """
        each, best = self.pulls(self.along), np.full(len(self.along), -inf)
        np.maximum.at(best, self.way[number], self.prior[number])
        blamed = np.zeros(len(self.along), np.int64)
        blamed[self.way] = self.first
        left = (self.along @ self._problem.inverse @ self._problem.gap) - self.error[number, None] * each[
            self.way[number]
        ]
        size = np.maximum(each.diagonal(), np.finfo(float).tiny)
        at_best = self.beside[number, None] + best + left**2 / size / 2
        kept = number[np.where(blamed == self.first[number, None], -inf, at_best).max(axis=1, initial=-inf) > least]
        both = np.outer(self.error[kept], self.error[kept]) * each[self.way[kept, None], self.way[kept]]
        return self.beside[kept, None] + self.beside[kept] - both, kept


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


def _unexplained(problem: Problem, best: _Likeliest) -> bool:
    """Whether the balances still fail with the best single slip mended, or only an odd step mends them."""
    if best.slip.kind == "odd":
        return True
    return bool(chi2_above(np.array([max(len(problem.gap) - 1, 1)]), np.array([problem.g - best.gain]))[0] < LEVEL)


def _two_known(known: _Known, least: float) -> list[_Scored]:
    """Two slips of known size at two streams, as far as they are not negligible."""
    score, number = known.pairs(known.worth_pairing(known.prior, least), least)
    score[known.first[number, None] >= known.first[number]] = -inf
    least = max(least, score.max(initial=-inf) - _NEGLIGIBLE)
    return [
        (float(score[i, j]), (known.slip(int(number[i])), known.slip(int(number[j]))))
        for i, j in np.argwhere(score > least).tolist()
    ]


def _known_and_open(known: _Known, opens: _Opens, least: float, which: Flags) -> list[_Scored]:
    """A slip of known size beside one of unknown size at another stream, of those in ``which``."""
    alone, constant, factor = opens.beside
    number = known.worth_pairing(constant[which], least)
    pull = alone - known.error[number, None] * known.pulls(opens.shifts)[known.way[number]]
    score = known.beside[number, None] + constant + factor * pull**2
    one, two = np.nonzero(score > least)
    able = which[two] & (known.first[number[one]] != opens.first[two]) & opens.possible(two, pull[one, two])
    one, two = one[able], two[able]
    told = score[one, two]
    near = told > told.max(initial=-inf) - _NEGLIGIBLE
    return [
        (float(score[i, j]), (known.slip(int(number[i])), opens.slip(j, pull[i, j])))
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
