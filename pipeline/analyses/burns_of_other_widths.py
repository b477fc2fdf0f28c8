"""What burns of narrower and wider candles of the same form and recipe say of this one's wick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.analyses.burn_verdicts import Burn, BurnReading, Says
from pipeline.analyses.wick_choice import Seen


@dataclass(frozen=True, slots=True)
class WickedCandle:
    """The candle in question; lengths in mm, mass in g. ``diameter_mm``: its widest inside diameter."""

    candle: str
    form: str
    blend: str
    wick: str | None
    diameter_mm: float | None
    height_mm: float | None
    mouth_mm: float | None
    fill_g: float | None


@dataclass(frozen=True, slots=True)
class BurnVerdict:
    """A burn of a kind of candle, and what it says of its wick."""

    candle: str
    date: date
    burn: Burn
    reading: BurnReading

    @property
    def seen(self) -> Seen:
        """As the choice needs it."""
        return Seen(self.burn.test, self.burn.burn, self.burn.wick, self.reading.says)


def alike(one: WickedCandle, other: WickedCandle) -> bool:
    """Whether two kinds are of one form and recipe, so that only the width parts them."""
    return (one.form, one.blend) == (other.form, other.blend)


def holding_here(
    kind: WickedCandle, kinds: Sequence[WickedCandle], verdicts: Sequence[BurnVerdict]
) -> tuple[BurnVerdict, ...]:
    """Verdicts of other widths that hold here too: too small there is too small in a wider one, and the reverse."""
    width = {k.candle: k.diameter_mm for k in kinds if k.candle != kind.candle and alike(k, kind)}
    found = []
    for v in verdicts:
        there = width.get(v.candle)
        if there is None or kind.diameter_mm is None:
            continue
        small = v.reading.says is Says.SMALL and there <= kind.diameter_mm
        if small or (v.reading.says is Says.LARGE and there >= kind.diameter_mm):
            found.append(v)
    return tuple(found)
