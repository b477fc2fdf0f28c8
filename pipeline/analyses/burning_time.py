"""How fast a wick burns wax, and how long a candle burns by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from pipeline.analyses.burn_verdicts import Burn
from pipeline.analyses.distributions import t_quantile
from pipeline.contract.outcome_range import HIGH


@dataclass(frozen=True, slots=True)
class Spread:
    """A mean with its 80 % range, whose ends are None where there is only one value."""

    low: float | None
    mid: float | None
    high: float | None


def burn_rate(burns: Sequence[Burn], wick: str | None) -> Spread:
    """Grams an hour from the burns of a wick with both masses: each test one ratio of sums, 80 % t range over tests."""
    sums: dict[str, tuple[float, float]] = {}
    for b in burns:
        if b.wick == wick and b.mass_before_g is not None and b.mass_after_g is not None and b.time_min > 0:
            burned_g, hours = sums.get(b.test, (0.0, 0.0))
            sums[b.test] = burned_g + b.mass_before_g - b.mass_after_g, hours + b.time_min / 60
    rates = [burned_g / hours for burned_g, hours in sums.values()]
    if len(rates) < 2:
        return Spread(None, rates[0] if rates else None, None)
    half = t_quantile(HIGH, len(rates) - 1) * stdev(rates) / sqrt(len(rates))
    return Spread(fmean(rates) - half, fmean(rates), fmean(rates) + half)


def burn_time(fill_g: float | None, rate: Spread) -> Spread:
    """Hours that a candle burns, fill mass over rate; None where a rate is not known or not over 0."""
    low, mid, high = (fill_g / g if fill_g and g and g > 0 else None for g in (rate.high, rate.mid, rate.low))
    return Spread(low, mid, high)
