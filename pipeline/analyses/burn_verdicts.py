"""What one burn of a test candle says about its wick: too small, right, too large, or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from pipeline.contract.quantities import in_unit

SLACK = 1e-9
"""A burn on a limit is on it, whatever the last bit of a division says."""


class Says(StrEnum):
    """What a burn says of the wick."""

    SMALL = "small"
    RIGHT = "right"
    LARGE = "large"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class BurnLimits:
    """The thresholds of a verdict: shares of the diameter, mm, hours per inch of diameter."""

    pool_share: float
    pool_hours: float
    pool_depth: float
    flame_height: float
    rim_low: float
    rim_high: float


@dataclass(frozen=True, slots=True)
class Burn:
    """One burn as logged; None where nobody measured."""

    test: str
    burn: int
    wick: str
    time_min: float
    pool_mm: float | None = None
    depth_mm: float | None = None
    flame_mm: float | None = None
    soot: str | None = None
    went_out: bool = False
    signs: frozenset[str] = frozenset()
    mass_before_g: float | None = None
    mass_after_g: float | None = None


@dataclass(frozen=True, slots=True)
class BurnReading:
    """What a burn says, by which rule, and the length, share or time (mm, 0-1, min) that decided or is needed."""

    says: Says
    rule: str
    found: float | None = None
    limit: float | None = None


def read(burn: Burn, form: str, diameter_mm: float | None, limits: BurnLimits) -> BurnReading:
    """The verdict on one burn, the first rule that fits; thresholds of the reference table."""
    return _seen(burn, limits) or _by_form(burn, form, diameter_mm, limits)


def _seen(burn: Burn, limits: BurnLimits) -> BurnReading | None:
    """What shows whatever the candle's form; dirty wax spoils the burn."""
    signs = burn.signs
    if "sputtering" in signs:
        return BurnReading(Says.NONE, "sputtering")
    for sign in ("drowned", "tunnel"):
        if sign in signs:
            return BurnReading(Says.SMALL, sign)
    if burn.soot == "heavy":
        return BurnReading(Says.LARGE, "soot")
    if burn.flame_mm is not None and burn.flame_mm > limits.flame_height + SLACK:
        return BurnReading(Says.LARGE, "flame", burn.flame_mm, limits.flame_height)
    return BurnReading(Says.LARGE, "gutters") if "gutters" in signs else None


def _by_form(burn: Burn, form: str, diameter_mm: float | None, limits: BurnLimits) -> BurnReading:
    if form not in ("container", "mould"):
        return _without_pool(burn)
    if diameter_mm is None:
        return BurnReading(Says.NONE, "no diameter")
    return (_in_container if form == "container" else _moulded)(burn, diameter_mm, limits)


def _without_pool(burn: Burn) -> BurnReading:
    if "drips" in burn.signs:
        return BurnReading(Says.LARGE, "drips")
    return BurnReading(Says.SMALL, "went out") if burn.went_out else BurnReading(Says.RIGHT, "burns clean")


def _in_container(burn: Burn, diameter_mm: float, limits: BurnLimits) -> BurnReading:
    """A flame that went out is judged by where the pool was, another once the burn has lasted its hours."""
    if not burn.went_out and (early := _too_short(burn, diameter_mm, limits)):
        return early
    if burn.pool_mm is None:
        return BurnReading(Says.NONE, "no pool")
    wall_mm = limits.pool_share * diameter_mm
    at_wall = burn.pool_mm >= wall_mm - SLACK
    if burn.went_out:
        says, rule = (Says.LARGE, "out at the wall") if at_wall else (Says.SMALL, "out before the wall")
        return BurnReading(says, rule, burn.pool_mm, wall_mm)
    return _pool_at_wall(burn, limits) if at_wall else BurnReading(Says.SMALL, "pool short", burn.pool_mm, wall_mm)


def _pool_at_wall(burn: Burn, limits: BurnLimits) -> BurnReading:
    """A pool that has reached the wall must not grow deep."""
    if burn.depth_mm is None:
        return BurnReading(Says.NONE, "no depth")
    if burn.depth_mm > limits.pool_depth + SLACK:
        return BurnReading(Says.LARGE, "pool deep", burn.depth_mm, limits.pool_depth)
    return BurnReading(Says.RIGHT, "pool at the wall", burn.pool_mm)


def _moulded(burn: Burn, diameter_mm: float, limits: BurnLimits) -> BurnReading:
    """A rim of solid wax must stand round the pool, neither wide nor thin."""
    if early := _too_short(burn, diameter_mm, limits):
        return early
    if burn.pool_mm is None:
        return BurnReading(Says.NONE, "no pool")
    rim_mm = (diameter_mm - burn.pool_mm) / 2
    if rim_mm > limits.rim_high + SLACK:
        return BurnReading(Says.SMALL, "rim wide", rim_mm, limits.rim_high)
    if rim_mm < limits.rim_low - SLACK:
        return BurnReading(Says.LARGE, "rim thin", rim_mm, limits.rim_low)
    return BurnReading(Says.RIGHT, "rim right", rim_mm)


def _too_short(burn: Burn, diameter_mm: float, limits: BurnLimits) -> BurnReading | None:
    need_min = 60 * limits.pool_hours * in_unit(diameter_mm, "in")
    return BurnReading(Says.NONE, "short burn", burn.time_min, need_min) if burn.time_min < need_min - SLACK else None
