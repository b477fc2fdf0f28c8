"""How many candles of each kind this wax makes, and what one leaves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.analyses.batch_plan import SLACK, whole
from pipeline.analyses.candle_cost import Costs
from pipeline.analyses.candle_ingredients import Candle
from pipeline.analyses.candle_mix import MixableCandle
from pipeline.analyses.pending_wax import Pending
from pipeline.contract.outcome_range import HIGH, LOW, MID


@dataclass(frozen=True, slots=True)
class Capacity:
    """How many of one kind the wax makes: in hand, and with pending wax at 10, 50 and 90 %; cost and margin of one.

    Counts are None for a kind that takes no wax of the shelf or whose wax is unknown.
    """

    candle: str
    wax_each_g: float | None
    fill_g: float | None
    fill_u_g: float | None
    now: int | None
    low: int | None
    mid: int | None
    high: int | None
    cost_each: float | None
    margin_each: float | None
    note: str | None


def capacities(candles: Sequence[Candle], wax_g: float, pending: Pending, costs: Costs) -> tuple[Capacity, ...]:
    """One row per kind, in the order given: every row is for all the wax, as if nothing else were made."""
    total = wax_g + pending.total_g()
    low, mid, high = (float(q) for q in np.quantile(total, (LOW, MID, HIGH), method="inverted_cdf"))
    return tuple(_capacity(c, (wax_g, low, mid, high), costs) for c in candles)


def _capacity(c: Candle, wax: tuple[float, float, float, float], costs: Costs) -> Capacity:
    now, low, mid, high = (whole(w, c.wax_each_g) if c.wax_each_g else None for w in wax)
    cost = costs.of(c)
    margin = None if cost is None or c.price is None else c.price - cost
    u_g = c.sureness.u_g if c.sureness else None
    return Capacity(c.candle, c.wax_each_g, c.fill_g, u_g, now, low, mid, high, cost, margin, _note(c))


def _note(c: Candle) -> str | None:
    if c.wax_each_g is None:
        return "its wax cannot be worked out: give its mass, volume or size, and a blend that sums to 100 %"
    if c.wax_each_g <= SLACK:
        return "takes no wax from the shelf"
    return c.sureness.advice if c.sureness and c.sureness.decides != "scale" else None


def kinds_for(candles: Iterable[Candle], aim: str, costs: Costs) -> list[MixableCandle]:
    """The kinds to choose a mix from, each at its worth under the aim (income, margin or count).

    What takes no wax or has no size is left out; without a price a candle is worth nothing.
    """
    return [
        MixableCandle(c.candle, c.wax_each_g, _worth(c, aim, costs), c.work_min, c.per_pour)
        for c in candles
        if c.wax_each_g is not None and c.wax_each_g > SLACK
    ]


def _worth(c: Candle, aim: str, costs: Costs) -> float:
    if aim == "count":
        return 1.0
    if c.price is None:
        return 0.0
    return c.price if aim == "income" else c.price - (costs.of(c) or 0.0)
