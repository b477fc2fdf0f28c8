"""The steps and cautions of a pour, in the keeper's units, each with its reason and where the figure is from.

"common practice" stands for what the trade does without a source; published figures name theirs.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.analyses.candle_capacity import Candle
from pipeline.contract.quantities import in_unit

COMMON = "common practice, no source"
HOLD_C, DARKENS_C = (75.0, 80.0), 85.0
SCENT_C = (74.0, 77.0)  # 165-170 °F
POUR_C = 68.0  # 155 °F
FIRE_C = 121.0  # 250 °F
TUB_C = 93.0  # 200 °F
WICK_OVER_MM, WICK_GAP_MM, WICK_TRIM_MM = 25.4, 6.35, 6.35


@dataclass(frozen=True, slots=True)
class Place:
    """The units to speak in, and the inside height of the vessel where it is known."""

    temperature: str = "C"
    length: str = "mm"
    height_mm: float | None = None

    def temp(self, *degrees_c: float) -> str:
        """``75-80 °C`` or the same in °F."""
        unit = self.temperature.upper()
        return "-".join(f"{in_unit(c, unit.lower()):.0f}" for c in degrees_c) + f" °{unit}"

    def span(self, mm: float) -> str:
        """A short length, ``6 mm`` or ``0.25 in``."""
        return f"{mm:.0f} mm" if self.length == "mm" else f"{in_unit(mm, self.length):.2f} {self.length}"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, why, and where the figure is from."""

    text: str
    why: str
    source: str

    def sentence(self) -> str:
        """For the sheet."""
        return f"{self.text} ({self.why}; {self.source})"


def steps_for(candle: Candle, place: Place, tops_up: bool) -> tuple[Step, ...]:
    """What to do, in order; a rolled candle is only cut and rolled."""
    if candle.form == "rolled":
        return (Step("Warm the sheet to room temperature and roll it round the wick", "cold sheet cracks", COMMON),)
    steps = [_wick(candle, place), _melt(place)]
    if candle.oil_share:
        gap = f"pure wax leaves a gap of {place.span(1.6)} or more at a jar's wall, oil closes it"
        steps.append(Step("Melt the oil into the wax and stir", gap, COMMON))
    if candle.scent_share:
        warm = f"Off the heat, stir the scent in at {place.temp(*SCENT_C)}"
        steps.append(Step(warm, "hotter it evaporates", COMMON))
    steps.append(_shape(candle, place))
    if tops_up:
        text = "Keep the wax held back warm; top up when the middle has sunk and set"
        steps.append(Step(text, "solid wax takes less room than liquid", "densities in handbooks"))
    steps.append(Step("Leave it still until it is pale and cold", "a knock cracks or tilts it", COMMON))
    steps.append(Step(f"Trim the wick to {place.span(WICK_TRIM_MM)}", "a long wick soots", COMMON))
    return tuple(steps)


def _melt(place: Place) -> Step:
    text = f"Melt over water and hold at {place.temp(*HOLD_C)}, never over {place.temp(DARKENS_C)}"
    return Step(text, "hotter it darkens", "Ritter 2018; Krell 1996, FAO bulletin 124")


def _wick(candle: Candle, place: Place) -> Step:
    over = place.span(WICK_OVER_MM)
    length = f"{over} longer than the vessel is high"
    if place.height_mm:
        length = f"{place.span(place.height_mm + WICK_OVER_MM)}, {length}"
    wick = f"wick {candle.wick}" if candle.wick else "the wick"
    hang = f", hung {place.span(WICK_GAP_MM)} off the bottom" if candle.form == "container" else ""
    return Step(f"Cut {wick} to {length}{hang}", "it must reach the bar that holds it", COMMON)


def _shape(candle: Candle, place: Place) -> Step:
    if candle.form == "dipped":
        text = f"Dip at {place.temp(POUR_C)}, let each coat set before the next"
        return Step(text, "hotter wax melts the last coat", COMMON)
    text = f"In a warm room pour at about {place.temp(POUR_C)}, a film just forming, the largest first"
    return Step(text, "hotter it sinks more, colder it sets in rings", COMMON)


def cautions_for(candle: Candle, place: Place) -> tuple[str, ...]:
    """What can burn, hurt or attract; shown with every sheet, the local rules named first."""
    general = [
        "Local fire rules and the advice of your supplier come before this sheet.",
        f"Fire: hot wax burns like oil. Never over a flame, only over water; {place.temp(FIRE_C)} is the limit for "
        "fire, not a working figure. Never leave it alone.",
        "A wax fire is put out with a lid, powder, foam or CO2. Never put water on a wax fire.",
        "Burns: wax sticks and holds its heat. Sleeves, gloves and glasses on; cool a burn under water, do not pull.",
        "Ventilate; keep children and animals away.",
        "Bees come to warm wax: keep windows screened and tools indoors.",
        f"A plastic pouring tub takes {place.temp(TUB_C)} at most.",
    ]
    if candle.form == "rolled":
        return (general[0], "Burn a candle in sight, on what cannot burn, away from children.")
    glass = ["Thin glass cracks: warm the jars and stand them on a tray."] if candle.form == "container" else []
    return (*general, *glass)
