"""The kinds of candle that a book makes, with what they hold and what they cost."""

from __future__ import annotations

from typing import Any

from pipeline.analyses import candle_mass_sureness
from pipeline.analyses.candle_cost import Costs
from pipeline.analyses.candle_ingredients import Candle
from pipeline.flow import Loaded


def candle_kinds(loaded: Loaded) -> tuple[Candle, ...]:
    """The kinds, in the order of their log."""
    step_g = loaded.book.scale("candles").step_g
    return tuple(_candle(row, step_g) for row in loaded.warehouse.ask("candle_kinds"))


def costs(loaded: Loaded) -> Costs:
    """What materials (per kg) and work (per hour) cost."""
    per_kg = {item: cost for item, cost in loaded.book.costs.items() if item != "hour"}
    return Costs(per_kg, loaded.book.costs.get("hour"))


def _candle(r: dict[str, Any], step_g: float) -> Candle:
    return Candle(
        candle=r["candle"],
        form=r["form"],
        fill_g=_number(r["fill_g"]),
        wax_each_g=_number(r["wax_each_g"]),
        wax_share=r["wax_share"] or 0.0,
        oil=r["oil"],
        oil_share=r["oil_share"] or 0.0,
        scent=r["scent"],
        scent_share=r["scent_share"] or 0.0,
        price=_number(r["price"]),
        other_cost=float(r["other_cost"] or 0),
        work_min=r["work_time_min"] or 0.0,
        per_pour=r["per_pour"] or 1,
        wick=r["wick"],
        sureness=_sureness(r, step_g),
    )


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _sureness(r: dict[str, Any], step_g: float) -> candle_mass_sureness.Sureness | None:
    """By the best measurement that the candle has: its mass, else its volume, else its lengths."""
    if r["fill_mass_g"] is not None:
        return candle_mass_sureness.weighed(step_g)
    if r["fill_g"] is None or r["g_per_ml"] is None:
        return None
    if r["fill_volume_ml"] is not None:
        return candle_mass_sureness.from_volume(r["fill_g"], r["g_per_ml"])
    vessel = candle_mass_sureness.Vessel(
        r["diameter_mm"], r["height_mm"], r["top_diameter_mm"], r["headspace_mm"] or 0.0
    )
    return candle_mass_sureness.from_vessel(vessel, r["fill_g"], r["g_per_ml"])
