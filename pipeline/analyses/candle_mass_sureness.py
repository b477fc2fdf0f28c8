"""How sure the mass of a finished candle is, from how it was measured, and how far it sinks as it sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, sqrt
from typing import Final

from pipeline.contract import formulas_in_sql_and_python, shipped_files

LENGTH_U_MM = 0.5  # a ruler held inside a jar; a judgement
VOLUME_U_SHARE = 0.01  # a kitchen measure; a judgement
DENSITY_U = 0.005  # g/ml: solid wax is 0.951-0.970 in the pharmacopoeias and Crane 1990
LIQUID_WAX: Final = next(
    float(row["g_per_ml"]) for row in shipped_files.reference("densities") if row["material"] == "wax, molten"
)
"""The density of wax as it is poured, g/ml."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """The inside of a mould or container; ``top_diameter_mm`` at the rim, ``headspace_mm`` from it to the fill line."""

    diameter_mm: float
    height_mm: float
    top_diameter_mm: float | None = None
    headspace_mm: float = 0.0

    @property
    def volume_ml(self) -> float:
        """The frustum between the bottom and the fill line."""
        top = self.diameter_mm if self.top_diameter_mm is None else self.top_diameter_mm
        fill = self.height_mm - self.headspace_mm
        if fill <= 0:
            return 0.0
        line = self.diameter_mm + (top - self.diameter_mm) * fill / self.height_mm
        return formulas_in_sql_and_python.frustum_ml(self.diameter_mm, line, fill)


@dataclass(frozen=True, slots=True)
class Sureness:
    """Standard uncertainty of a candle's mass, the measurement that decides it, and the advice that follows."""

    u_g: float
    decides: str
    advice: str


def weighed(step_g: float) -> Sureness:
    """A finished candle was weighed: the scale's step alone, step / sqrt(12)."""
    return Sureness(step_g / sqrt(12), "scale", "a weighed candle is the best there is")


def from_volume(fill_g: float, density: float) -> Sureness:
    """A volume was measured: its reading and the density in quadrature."""
    parts = {"volume": VOLUME_U_SHARE * fill_g, "density": DENSITY_U / density * fill_g}
    return _sureness(parts)


def from_vessel(vessel: Vessel, fill_g: float, density: float, u_mm: float = LENGTH_U_MM) -> Sureness:
    """Lengths were measured: each one moved by its own uncertainty (GUM 5.1.3, differences for derivatives)."""
    parts = {name: abs(moved.volume_ml - vessel.volume_ml) * density for name, moved in _moved(vessel, u_mm).items()}
    return _sureness(parts | {"density": DENSITY_U / density * fill_g})


def _moved(v: Vessel, u_mm: float) -> Mapping[str, Vessel]:
    d, h, top, gap = v.diameter_mm, v.height_mm, v.top_diameter_mm, v.headspace_mm
    moved = {"diameter": Vessel(d + u_mm, h, top, gap), "height": Vessel(d, h + u_mm, top, gap)}
    if top is not None:
        moved["top diameter"] = Vessel(d, h, top + u_mm, gap)
    if gap:
        moved["headspace"] = Vessel(d, h, top, gap + u_mm)
    return moved


def _sureness(parts: Mapping[str, float]) -> Sureness:
    decides = max(parts, key=lambda name: parts[name])
    advice = f"its weight follows from its {decides}; weigh one finished candle and use that"
    return Sureness(hypot(*parts.values()), decides, advice)


def mixture_density(shares: Mapping[str, float], densities: Mapping[str, float]) -> float:
    """Density of a blend by mass shares, volumes added: 1 / rho = sum of share / rho. Shares must sum to 1."""
    if abs(sum(shares.values()) - 1) > 1e-6:
        raise ValueError(f"the shares sum to {sum(shares.values()):.4f}, not to 1")
    if any(densities[name] <= 0 for name in shares):
        raise ValueError("a density must be above 0")
    return formulas_in_sql_and_python.density_g_per_ml([(share, densities[name]) for name, share in shares.items()])


def sink_share(solid: float, liquid: float) -> float:
    """The share of a pour's volume that is missing once it has set, 1 - liquid / solid; 0 where it does not shrink."""
    return max(1 - liquid / solid, 0.0)
