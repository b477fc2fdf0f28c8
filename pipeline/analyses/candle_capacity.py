"""What goes into a candle, how many this wax makes, and what one costs and leaves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.analyses.batch_plan import SLACK, whole
from pipeline.analyses.candle_mass import LIQUID_WAX, Sureness, mixture_density, sink_share
from pipeline.analyses.candle_mix import MixableCandle
from pipeline.analyses.pending_wax import Pending
from pipeline.contract.outcome_range import HIGH, LOW, MID


@dataclass(frozen=True, slots=True)
class Candle:
    """A kind of candle: the wax and fill that the books' models worked out, its recipe, prices and work.

    Shares are of wax and oil together; ``fill_g`` and ``wax_each_g`` are None where they cannot be known.
    """

    candle: str
    form: str
    fill_g: float | None
    wax_each_g: float | None
    wax_share: float = 1.0
    oil: str | None = None
    oil_share: float = 0.0
    scent: str | None = None
    scent_share: float = 0.0
    price: float | None = None
    other_cost: float = 0.0
    work_min: float = 0.0
    per_pour: int = 1
    wick: str | None = None
    sureness: Sureness | None = None

    @property
    def parts_g(self) -> dict[str, float]:
        """Wax, oil and scent melted for one candle, pour loss included; names of the recipe; empty if unknown."""
        if self.wax_each_g is None or self.wax_share <= 0:
            return {}
        both_g = self.wax_each_g / self.wax_share
        parts = {
            "wax": self.wax_each_g,
            self.oil or "oil": both_g * self.oil_share,
            self.scent or "scent": both_g * self.scent_share,
        }
        return {name: mass for name, mass in parts.items() if mass > 0}

    @property
    def sinks(self) -> bool:
        """Whether it is poured into something that it shrinks in."""
        return self.form in ("container", "mould")


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


@dataclass(frozen=True, slots=True)
class Costs:
    """Costs per kg by material and per hour of work, in the book's currency."""

    per_kg: Mapping[str, float]
    hour: float | None

    def of(self, c: Candle) -> float | None:
        """What one candle costs; what has no cost counts as 0; None where its wax is unknown."""
        if c.wax_each_g is None:
            return None
        materials = sum(mass / 1000 * (self._per_kg(name, c) or 0.0) for name, mass in c.parts_g.items())
        return materials + c.other_cost + c.work_min / 60 * (self.hour or 0.0)

    def missing(self, candles: Iterable[Candle]) -> tuple[str, ...]:
        """What the candles need and no cost is given for, to be said aloud."""
        needed = {name for c in candles for name in c.parts_g if self._per_kg(name, c) is None}
        if self.hour is None and any(c.work_min for c in candles):
            needed.add("hour")
        return tuple(sorted(needed))

    def _per_kg(self, name: str, c: Candle) -> float | None:
        general = {c.oil: "oil", c.scent: "scent"}.get(name, name)
        return self.per_kg.get(name, self.per_kg.get(general))


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


def sink_of(c: Candle, densities: Mapping[str, float]) -> float:
    """The share of the first pour's volume that a candle sinks by; oils and scents hardly shrink beside wax."""
    total = 1 + c.scent_share
    shares = {"wax": c.wax_share / total, "oil": c.oil_share / total, "scent": c.scent_share / total}
    solid = {
        "wax": densities["wax"],
        "oil": densities.get(c.oil or "oil", densities["oil"]),
        "scent": densities.get(c.scent or "scent", densities["scent"]),
    }
    return sink_share(mixture_density(shares, solid), mixture_density(shares, solid | {"wax": LIQUID_WAX}))
