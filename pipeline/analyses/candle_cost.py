"""What making one candle costs: its wax, oil and scent, its other parts, and the work."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pipeline.analyses.candle_ingredients import Candle


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
