"""What stands on a candle's label and on the sheet that goes with it, in own words."""

from __future__ import annotations

from pipeline.answers.label import LabelAnswer
from pipeline.wording.amounts import Units
from pipeline.wording.pour_steps import practice
from pipeline.wording.visible_text import visible

METRIC = Units(mass_in="g", step_g=1.0, length_in="mm")
CUSTOMARY = Units(mass_in="oz", step_g=2.8, length_in="in")
"""A label tells its amounts in both systems, that of the book first."""
WARNINGS = (
    "Never leave it burning out of sight.",
    "Keep it away from anything that can catch fire, and out of draughts.",
    "Keep it away from children and pets.",
)
"""Content after EN 15494:2019 and ASTM F2058 (quoted), in own words."""
HAZARD_BOX = "Hazard label (CLP): from the data sheet of the scent"
MAKER_BOX = "Maker: name, address, telephone"
_PIECES = {"dipped": "1 dipped candle", "mould": "1 moulded candle", "rolled": "1 rolled candle"}


def warnings(units: Units) -> list[str]:
    """The general warnings."""
    return [units.spelled(warning) for warning in WARNINGS]


def title(at: LabelAnswer) -> str:
    """What the candle is."""
    return visible(at.candle)


def contents(at: LabelAnswer, exact: bool = False) -> str:
    """What is in it, most first; ``exact``: with shares by mass."""
    return ", ".join(f"{visible(n)} {METRIC.share(s, 0)}" if exact else visible(n) for n, s in at.contents)


def amount(at: LabelAnswer, units: Units) -> str:
    """Net mass of a container's filling in both unit systems; of a free-standing candle its count and height too."""
    net = (
        ""
        if at.net_g is None
        else f"net {_both(METRIC.mass(at.net_g), CUSTOMARY.mass(at.net_g), units.small_unit == 'oz')}"
    )
    if at.form == "container":
        return net or "net: weigh one and write it here"
    high = "" if at.height_mm is None else f", {_length(at.height_mm, units)} high"
    return "; ".join(filter(None, [f"{units.spelled(_PIECES[at.form])}{high}", net]))


def _both(metric: str, customary: str, customary_first: bool) -> str:
    return f"{customary} ({metric})" if customary_first else f"{metric} ({customary})"


def _length(length_mm: float, units: Units) -> str:
    return _both(METRIC.length(round(length_mm)), CUSTOMARY.length(length_mm), units.length_in == "in")


def lot(at: LabelAnswer) -> str:
    """The lot code, as ``combtally trace`` takes it."""
    return f"Lot: {visible(at.lot)}"


def burning_time(at: LabelAnswer) -> str:
    """How long it burns, by tests; nothing where nobody tested."""
    spread = at.time_h
    if spread.mid is None:
        return ""
    low, mid, high = (METRIC.number(h) if h is not None else "" for h in (spread.low, spread.mid, spread.high))
    return f"Burns {low} to {high} h" if low and high and low != high else f"Burns about {mid} h"


def advice(at: LabelAnswer, units: Units) -> list[str]:
    """How to burn it."""
    inches = units.length_in == "in"
    short = _both(f"{round(practice('wick_trim')[0])} mm", "1/4 in", inches)
    trim = f"Trim the wick to {short} before you light it."
    if at.form != "container":
        return [trim, "Stand it upright on a holder that cannot burn."]
    first = ""
    if at.diameter_mm:
        first = (
            f"Let the first burn last about {CUSTOMARY.number(at.diameter_mm / 25.4)} h, until the whole top is molten."
        )
    rest = _both("10 mm", "3/8 in", inches)
    end = f"Put it out when {rest} of wax are left. It gets hot, glass and tin most: do not touch or move it while it burns."
    return [t for t in (trim, first, end) if t]


def full_text(at: LabelAnswer, units: Units) -> list[tuple[str, list[str]]]:
    """The sheet that goes with a batch: everything that the small label has no room for."""
    time = burning_time(at)
    measured = f"{time}, by test burns." if time else "Not tested: no burn of it is logged with both masses."
    made = "poured" if at.poured else "to be poured"
    lots = f"{lot(at)}; {made} {units.day(at.date)}; {units.plural(at.candles, 'candle')}."
    return [
        (
            "What it is",
            [f"{title(at)}: {contents(at, exact=True)} (shares by mass).", f"{amount(at, units).capitalize()}.", lots],
        ),
        ("How long it burns", [measured]),
        ("How to burn it", advice(at, units)),
        (
            "Warnings",
            ["Put the general warning sign before them: a triangle with an exclamation mark in it.", *warnings(units)],
        ),
        ("For the maker", _law(at)),
    ]


def _law(at: LabelAnswer) -> list[str]:
    scented = [
        "Scented candles in the European Union and Great Britain need a hazard label under Regulation (EC) No 1272/2008: "
        f"its contents come from the data sheet of the scent ({visible(at.scent)}) at the share used here. The box for it is "
        "left empty and is yours to fill, or to strike out where the data sheet says that none is needed; where it asks for more "
        "room, stick it beside the label."
    ]
    return [
        "You answer for the law of the place where you sell; this sheet is no legal advice.",
        *(scented if at.scent else []),
        "Safety labels: EN 15494:2019, ASTM F2058 (its current year). Fire safety: EN 15493:2019. Soot: EN 15426:2018.",
        "Net quantity in the United States: 16 CFR 500, and 16 CFR 501.7 for tapers and irregular shapes, sold by count and "
        "length or height.",
        f"The box “{MAKER_BOX}” is left empty: write yours, where the law asks for it.",
        "The code in the square is the lot, as text; combtally trace follows it back to the hives.",
    ]
