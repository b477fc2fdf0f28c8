"""What goes into a kind of candle, and how far it sinks as it sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.analyses.candle_mass_sureness import LIQUID_WAX, Sureness, mixture_density, sink_share


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
