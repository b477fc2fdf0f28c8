"""The next session's yield: a conjugate Bayesian linear model on the log odds of the wax share.

Every session's log odds are the shipped centre of its comb and method, plus an offset of this beekeeper, of the
kind, of the method and of the season, plus noise. Offsets are normal around 0 and the noise variance is scaled inverse
chi squared, so the answer is a Student t in closed form for any number of sessions, none included.

A season ahead has a level of its own that nothing can foretell. A drift, yields that move the same way every season, is
taken for scatter until five seasons are there; then a slope is fitted, small until the seasons insist, so that the
middle follows late and never all the way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from math import ceil, inf, sqrt

import numpy as np
import numpy.typing as npt

from pipeline.analyses.distributions import t_quantile
from pipeline.analyses.yield_priors import Priors, logit
from pipeline.contract.outcome_range import HELD

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Sort = tuple[str, str | None, str | None]  # a kind of comb, the method it is rendered by, the season of it
Features = tuple[tuple[str, str | None], ...]
Design = tuple[Features, Array, Array]

NOISE_SD = 0.28  # log odds between sessions of one kind in one season; a judgement, repaired by the first sessions
NOISE_WEIGHT = 2.0  # how many sessions that judgement is worth
OFFSET_SD = 0.30  # between beekeepers, and between a beekeeper's methods; a judgement
SEASON_SD = 0.20  # between a beekeeper's seasons, all lots of one alike; a judgement
DRIFT_SD = 0.15  # a season's step in one direction, once the seasons can tell one; a judgement
SEASONS_TELL = 5  # seasons from which the book's own take the place of that judgement
SEASON_SDS = np.array([0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 0.8])  # what it may be, weighed around the judgement
CLIP = 0.005  # a yield of 0 or 1 has no log odds
LEAST_LOADED_G = 500.0  # smaller lots vary more than the model allows for; a judgement
MEMORY = 400  # sessions that a forecast looks back on: more than a lifetime of most keepers
GUARD_FROM, GUARD_RATIO = 5, 1.3  # sessions before the guard speaks; how much wider it must be


@dataclass(frozen=True, slots=True)
class RenderedLot:
    """One finished session: its comb, the method of its first pass, comb loaded and wax won.

    ``refined_later``: most of its wax went, or waits to go, into a session of its own.
    """

    session: str
    date: date
    comb: str
    method: str | None
    loaded_g: float
    wax_g: float
    season: str | None = None
    refined_later: bool = False

    @property
    def sort(self) -> Sort:
        """What decides how much wax is expected of it."""
        return self.comb, self.method, self.season

    @property
    def share(self) -> float:
        """Wax won of comb loaded."""
        return self.wax_g / self.loaded_g

    @property
    def lost(self) -> bool:
        """Whether no wax at all was won; such sessions are counted, not averaged."""
        return self.wax_g <= 0


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Offsets after the data: mean, covariance per unit of noise variance, noise sd and degrees of freedom."""

    mean: Array
    cov: Array
    df: float
    scale: float

    def spread(self, x: Array) -> float:
        """The scale of the t distribution of the next value with features ``x``."""
        return self.scale * sqrt(1 + float(x @ self.cov @ x))


def posterior(x: Array, z: Array, precision: Array, df: float, scale: float) -> Posterior:
    """Conjugate update of z = x b + e; ``precision`` (per unit of noise variance), ``df``, ``scale``: the prior."""
    cov: Array = np.linalg.inv(np.diag(precision) + x.T @ x).astype(np.float64)
    mean: Array = cov @ (x.T @ z)
    squares = df * scale**2 + float(z @ z) - float(z @ x @ mean)
    after = df + len(z)
    return Posterior(mean, cov, after, sqrt(max(squares, 0.0) / after))


def loss_chance(lost: int, sessions: int) -> float:
    """The chance that a session's wax is lost whole, lost ones counted: (k + 1/2) / (n + 1)."""
    return (lost + 0.5) / (sessions + 1)


@dataclass(frozen=True, slots=True)
class Interval:
    """Three quantiles of a share or a mass: low and high hold the middle ``HELD`` between them."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True, eq=False)
class YieldModel:
    """The fitted model of one book."""

    priors: Priors
    features: Features
    fitted: Posterior
    misses: Array
    lost: int
    sessions: int

    def interval(self, sort: Sort) -> Interval:
        """10 %, 50 % and 90 % of the next session's yield, whole losses mixed in."""
        tail, chance = (1 - HELD) / 2, loss_chance(self.lost, self.sessions) if self.lost else 0.0
        df, spread = self.fitted.df, self.stretch * self.fitted.spread(self._x(sort))
        t = [t_quantile((p - chance) / (1 - chance), df) if p > chance else -inf for p in (tail, 0.5, 1 - tail)]
        low, mid, high = _shares(self._centre(sort) + spread * np.array(t))
        return Interval(float(low), float(mid), float(high))

    def draws(self, sorts: Sequence[Sort], which: Ints, rng: np.random.Generator) -> Array:
        """Joint draws of the yields of lots: what is not known is shared. ``which`` (draws, lots): the sort of each."""
        count = len(which)
        x = np.array([self._x(s) for s in sorts]).reshape(len(sorts), len(self.features))
        noise = self.fitted.scale * np.sqrt(self.fitted.df / rng.chisquare(self.fitted.df, count))[:, None]
        root = np.linalg.cholesky(self.fitted.cov)
        levels = rng.standard_normal((count, len(self.features))) @ (x @ root).T
        away = noise * (np.take_along_axis(levels, which, axis=1) + rng.standard_normal(which.shape))
        shares = _shares(np.array([self._centre(s) for s in sorts])[which] + self.stretch * away)
        return np.asarray(shares * self._kept(rng, shares.shape))

    def _kept(self, rng: np.random.Generator, shape: tuple[int, ...]) -> Array:
        if not self.lost:
            return np.ones(shape)
        chance = rng.beta(self.lost + 0.5, self.sessions - self.lost + 0.5, shape[0])
        return (rng.random(shape) >= chance[:, None]).astype(float)

    def _x(self, sort: Sort) -> Array:
        return _row(sort, self.features)

    def _centre(self, sort: Sort) -> float:
        return self.priors.centre(*sort[:2]) + float(self._x(sort) @ self.fitted.mean)

    @cached_property
    def stretch(self) -> float:
        """How much wider the misses so far ask every interval to be than the model does; 1 where the model will do.

        The misses are scaled by how sure each was, so that a kind never seen before does not count as noise.
        """
        n = len(self.misses)
        if n < GUARD_FROM:
            return 1.0
        rank = ceil(HELD * (n + 1))
        half = t_quantile((1 + HELD) / 2, self.fitted.df) * self.fitted.scale
        ratio = float(np.sort(self.misses)[rank - 1]) / half
        return ratio if ratio > GUARD_RATIO else 1.0


def usable(sessions: Iterable[RenderedLot]) -> list[RenderedLot]:
    """Sessions that teach the model something, in the order they were rendered."""
    return sorted((s for s in sessions if s.loaded_g >= LEAST_LOADED_G), key=lambda s: (s.date, s.session))


def fit(sessions: Iterable[RenderedLot], priors: Priors, sorts: Iterable[Sort] = ()) -> YieldModel:
    """The model after these sessions, able to predict the ``sorts`` asked for and all that it has seen."""
    seen = usable(sessions)[-MEMORY:]
    return Lessons.of(seen, priors).model(slice(None), sorts)


@dataclass(frozen=True, slots=True, eq=False)
class Lessons:
    """Usable sessions in order as the model sees them, so that it can be fitted to any run of them.

    ``sorts``: what was rendered; ``sort`` (sessions,): which of them; ``z`` (sessions,): log odds of the yield above
    the published centre, nan where all wax was lost. ``designs``: features with the rows of all sorts and the prior's
    precision, by the sorts that they are made for.
    """

    priors: Priors
    sorts: tuple[Sort, ...]
    sort: Ints
    z: Array
    designs: dict[tuple[tuple[Sort, ...], ...], Design] = field(default_factory=dict)

    @classmethod
    def of(cls, seen: Sequence[RenderedLot], priors: Priors) -> Lessons:
        """What usable sessions teach."""
        number = {s: i for i, s in enumerate(dict.fromkeys(s.sort for s in seen))}
        centres = [priors.centre(*sort[:2]) for sort in number]
        which = np.array([number[s.sort] for s in seen], np.int64)
        z = [np.nan if s.lost else _clipped(s.share) - centres[i] for s, i in zip(seen, which, strict=True)]
        return cls(priors, tuple(number), which, np.array(z, float))

    def model(self, run: slice, asked: Iterable[Sort] = ()) -> YieldModel:
        """The model after a run of the sessions, able to predict the sorts ``asked`` for."""
        z, which = self.z[run], self.sort[run]
        kept = ~np.isnan(z)
        z, which = z[kept], which[kept]
        there = [self.sorts[i] for i in np.flatnonzero(np.bincount(which, minlength=1))]
        features, rows, precision = self._design(tuple(there), tuple(asked))
        x = rows[which]
        precision = _seasons_weighed(x, z, precision, features)
        fitted = posterior(x, z, precision, NOISE_WEIGHT, NOISE_SD)
        # Leaving one out needs no refit: the miss is residual / (1 - leverage), its sd is noise / sqrt(1 - leverage).
        leverage = np.einsum("ij,jk,ik->i", rows, fitted.cov, rows)[which]
        misses = np.abs(z - x @ fitted.mean) / np.sqrt(1 - leverage)
        return YieldModel(self.priors, features, fitted, misses, len(kept) - len(z), len(kept))

    def _design(self, there: tuple[Sort, ...], asked: tuple[Sort, ...]) -> Design:
        wanted = (there, asked)
        if wanted not in self.designs:
            features = _features((*there, *asked), {season for _, _, season in there if season})
            rows = np.array([_row(s, features) for s in self.sorts]).reshape(len(self.sorts), len(features))
            self.designs[wanted] = features, rows, NOISE_SD**2 / _prior_sd(features, self.priors) ** 2
        return self.designs[wanted]


def _features(pairs: Sequence[Sort], seen: set[str]) -> Features:
    """What may differ among these; a drift, from the middle one, once enough seasons were ``seen``."""
    kinds = sorted({comb for comb, _, _ in pairs})
    methods = sorted({method or "" for _, method, _ in pairs})
    seasons = sorted({season for _, _, season in pairs if season is not None})
    named = [*(("comb", k) for k in kinds), *(("method", m or None) for m in methods)]
    drift = [("drift", sorted(seen)[len(seen) // 2])] if len(seen) >= SEASONS_TELL else []
    return (("offset", None), *named, *drift, *(("season", s) for s in seasons))


def _prior_sd(features: Features, priors: Priors) -> Array:
    other = {"offset": OFFSET_SD, "method": OFFSET_SD, "drift": DRIFT_SD, "season": SEASON_SD}
    return np.array([priors.sd(name or "") if what == "comb" else other[what] for what, name in features])


def _seasons_weighed(x: Array, z: Array, precision: Array, features: Features) -> Array:
    """The prior's precision with the seasons' scatter as the book has it, once it has enough of them.

    The mean variance over ``SEASON_SDS``, each weighed by its marginal likelihood and by its distance from the judgement.
    """
    season = np.array([what == "season" for what, _ in features])
    if (x[:, season].sum(axis=0) > 0).sum() < SEASONS_TELL:
        return precision
    tried = np.where(season, (NOISE_SD / SEASON_SDS[:, None]) ** 2, precision)  # (sds, features)
    information = x.T @ x + tried[:, :, None] * np.eye(len(precision))
    xz = x.T @ z
    mean = np.linalg.solve(information, np.broadcast_to(xz[:, None], (len(tried), len(xz), 1)))[:, :, 0]
    squares = NOISE_WEIGHT * NOISE_SD**2 + float(z @ z) - mean @ xz
    log_likely = (np.log(tried).sum(axis=1) - np.linalg.slogdet(information)[1]) / 2
    log_likely -= (NOISE_WEIGHT + len(z)) / 2 * np.log(squares) + np.log(SEASON_SDS / SEASON_SD) ** 2 / 2
    weight = np.exp(log_likely - log_likely.max())
    variance = float(weight @ SEASON_SDS**2) / float(weight.sum())
    return np.asarray(np.where(season, NOISE_SD**2 / variance, precision))


def _row(sort: Sort, features: Features) -> Array:
    comb, method, season = sort
    here = {("offset", None), ("comb", comb), ("method", method), ("season", season)}
    since = [float(int(season) - int(name or 0)) if what == "drift" and season else 0.0 for what, name in features]
    return np.array([1.0 if f in here else far for f, far in zip(features, since, strict=True)])


def _clipped(share: float) -> float:
    return logit(min(max(share, CLIP), 1 - CLIP))


def _shares(odds: Array) -> Array:
    """Shares of these log odds; the hyperbolic tangent cannot overflow."""
    return np.asarray((1 + np.tanh(odds / 2)) / 2)
