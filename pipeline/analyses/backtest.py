"""How past forecasts would have done: every session predicted from those before it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt

import numpy as np

from pipeline.analyses.distributions import beta_quantile, t_quantile
from pipeline.analyses.yield_model import MEMORY, Array, Interval, Lessons, RenderedLot, usable
from pipeline.analyses.yield_priors import Priors
from pipeline.contract.outcome_range import HELD

ENOUGH = 10  # sessions below which a count inside the interval says nothing


@dataclass(frozen=True, slots=True)
class Hindcast:
    """One session: what was forecast before it, and what came (shares of comb)."""

    session: str
    date: date
    comb: str
    method: str | None
    low: float
    mid: float
    high: float
    came: float

    @property
    def inside(self) -> bool:
        """Whether the yield fell within the interval."""
        return self.low <= self.came <= self.high


@dataclass(frozen=True, slots=True)
class Backtest:
    """Count inside the interval with its exact 95 % limits, and mean interval scores (smaller is better).

    ``score`` and ``score_pooled`` are over the same ``n_scored`` sessions: those with two or more of their kind of comb
    before them, which the rival, the pooled ratio of that kind, needs. None where nothing can be said.
    """

    n: int
    inside: int
    level: float
    low: float | None
    high: float | None
    n_scored: int
    score: float | None
    score_pooled: float | None
    sessions: tuple[Hindcast, ...]


def interval_score(low: float, high: float, came: float, level: float = HELD) -> float:
    """Width of the interval plus 2/(1 - level) times the miss (Gneiting and Raftery 2007, eq. 43)."""
    return (high - low) + 2 / (1 - level) * (max(low - came, 0.0) + max(came - high, 0.0))


def exact_limits(k: int, n: int, level: float = 0.95) -> tuple[float, float] | None:
    """Clopper-Pearson limits of a proportion k of n; None for n = 0."""
    if n == 0:
        return None
    tail = (1 - level) / 2
    low = beta_quantile(k, n - k + 1, tail) if k else 0.0
    high = beta_quantile(k + 1, n - k, 1 - tail) if k < n else 1.0
    return low, high


def masses(sessions: Sequence[RenderedLot]) -> tuple[Array, Array]:
    """Wax won and comb loaded (sessions,), g."""
    return np.array([s.wax_g for s in sessions]), np.array([s.loaded_g for s in sessions])


def pooled_interval(wax_g: Array, loaded_g: Array, level: float = HELD) -> Interval:
    """All wax over all comb, with t limits from the spread of the sessions around it; needs two sessions."""
    n, ratio = len(wax_g), float(wax_g.sum() / loaded_g.sum())
    sd = sqrt(float(((wax_g / loaded_g - ratio) ** 2).sum()) / (n - 1))
    half = t_quantile((1 + level) / 2, n - 1) * sd * sqrt(1 + 1 / n)
    return Interval(max(ratio - half, 0.0), ratio, min(ratio + half, 1.0))


def backtest(sessions: Iterable[RenderedLot], priors: Priors) -> Backtest:
    """Walk through the sessions in the order of their dates, each predicted from those before it.

    Of a very long book the last ``MEMORY`` sessions are predicted.
    """
    seen = usable(sessions)
    lessons = Lessons.of(seen, priors)
    before = [slice(max(i - MEMORY, 0), i) for i in range(max(len(seen) - MEMORY, 0), len(seen))]
    made = tuple(_hindcast(lessons, b, seen[b.stop]) for b in before)
    inside = sum(h.inside for h in made)
    limits = exact_limits(inside, len(made))
    rivals = [_rival(seen[b], seen[b.stop].comb) for b in before]
    scores = [interval_score(h.low, h.high, h.came) for h, r in zip(made, rivals, strict=True) if r]
    scores_pooled = [interval_score(r.low, r.high, h.came) for h, r in zip(made, rivals, strict=True) if r]
    return Backtest(
        n=len(made),
        inside=inside,
        level=HELD,
        low=limits[0] if limits else None,
        high=limits[1] if limits else None,
        n_scored=len(scores),
        score=float(np.mean(scores)) if scores else None,
        score_pooled=float(np.mean(scores_pooled)) if scores else None,
        sessions=made,
    )


def _rival(before: Sequence[RenderedLot], comb: str) -> Interval | None:
    """What the plain ratio of the sessions of this kind says; None where fewer than two came before."""
    alike = [s for s in before if s.comb == comb]
    return pooled_interval(*masses(alike)) if len(alike) >= 2 else None


def _hindcast(lessons: Lessons, before: slice, s: RenderedLot) -> Hindcast:
    told = lessons.model(before, [s.sort]).interval(s.sort)
    return Hindcast(s.session, s.date, s.comb, s.method, told.low, told.mid, told.high, s.share)
