"""What would mend a plan that falls short: fewer candles, comb rendered in time, or wax bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, fsum

import numpy as np
import numpy.typing as npt

from pipeline.analyses.batch_plan import SLACK, BatchForecast, Plan
from pipeline.analyses.pending_wax import LotForecast, Pending
from pipeline.contract.outcome_range import LOW


@dataclass(frozen=True, slots=True)
class Cut:
    """Make so many fewer candles of a batch."""

    batch: str
    candle: str
    fewer: int
    left: int


@dataclass(frozen=True, slots=True)
class Render:
    """Melt so much of what waits by a day; it gives the wax lacking with a chance of 90 % where ``enough``."""

    by: date
    comb_g: float
    set_aside_g: float
    enough: bool


@dataclass(frozen=True, slots=True)
class Buy:
    """Buy so much wax in all by a day."""

    by: date
    wax_g: float


@dataclass(frozen=True, slots=True)
class Mends:
    """Three ways, each enough by itself (a rendering that is not says so); empty where nothing is short."""

    fewer: tuple[Cut, ...]
    render: tuple[Render, ...]
    buy: tuple[Buy, ...]


def mends(plan: Plan, pending: Pending) -> Mends:
    """Work out all three for the wax in hand; comb and wax are counted from today up to each short day."""
    short = plan.shortfalls
    return Mends(
        fewer=_fewer(plan) if short else (),
        render=tuple(render_for(s.short_g, s.date, pending) for s in short) if pending.lots else (),
        buy=tuple(Buy(s.date, s.short_g) for s in short),
    )


def _fewer(plan: Plan) -> tuple[Cut, ...]:
    """One batch, the fewest candles, where one alone can mend it all; else every batch to what is covered."""
    lacking_g = max(s.short_g for s in plan.shortfalls)
    early = [b for b in plan.batches if b.wax_g and b.date <= plan.shortfalls[0].date]
    single = [(cut, b) for b in early if (cut := _cut(b, lacking_g)) <= b.count]
    if single:
        cut, b = min(single, key=lambda one: one[0])
        return (Cut(b.batch, b.candle, cut, b.count - cut),)
    return tuple(
        Cut(b.batch, b.candle, b.count - b.covered, b.covered)
        for b in plan.batches
        if b.covered is not None and b.covered < b.count
    )


def _cut(b: BatchForecast, lacking_g: float) -> int:
    each_g = (b.wax_g or 0.0) / b.count
    return ceil(lacking_g / each_g - SLACK)


def render_for(wax_g: float, by: date, pending: Pending) -> Render:
    """The least of the waiting lots, soonest ready first, whose 10 % point reaches ``wax_g``."""
    order = sorted(range(len(pending.lots)), key=lambda i: _soonest(pending.lots[i]))
    got = np.zeros(len(pending.draws_g))
    used: list[tuple[LotForecast, float]] = []
    for i in order:
        lot, draws = pending.lots[i], pending.draws_g[:, i]
        if _low(got + draws) >= wax_g:
            used.append((lot, _part(got, draws, wax_g)))
            return _render(by, used, enough=True)
        got = got + draws
        used.append((lot, 1.0))
    return _render(by, used, enough=False)


def _soonest(told: LotForecast) -> tuple[bool, date, str]:
    """Wax set aside needs the least work, so it goes first."""
    return (told.lot.comb is not None, told.ready, told.lot.source)


def _part(got: npt.NDArray[np.float64], draws: npt.NDArray[np.float64], wax_g: float) -> float:
    """The share of the last lot that reaches the mass; halved down to a millionth."""
    low, high = 0.0, 1.0
    for _ in range(20):
        mid = (low + high) / 2
        low, high = (low, mid) if _low(got + mid * draws) >= wax_g else (mid, high)
    return high


def _low(draws: npt.NDArray[np.float64]) -> float:
    return float(np.quantile(draws, LOW, method="inverted_cdf"))


def _render(by: date, used: Sequence[tuple[LotForecast, float]], enough: bool) -> Render:
    comb_g = fsum(part * f.lot.mass_g for f, part in used if f.lot.comb is not None)
    aside_g = fsum(part * f.lot.mass_g for f, part in used if f.lot.comb is None)
    return Render(by, comb_g, aside_g, enough)
