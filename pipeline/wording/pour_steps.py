"""The steps and cautions of a pour, in the keeper's units, each with its reason and where the figure is from.

The book's own flawless pours come first; where it has none, the figure is that of the reference tables.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from pipeline.analyses.pour_sheet import UsualPour
from pipeline.answers.pour import PourAnswer
from pipeline.contract import shipped_files
from pipeline.wording.amounts import POUNDS_AND_OUNCES, Units
from pipeline.wording.cautions import LOCAL, cautions
from pipeline.wording.visible_text import visible

_SMALL = {"kg": "g", "lb": "oz", POUNDS_AND_OUNCES: "oz"}
COMMON = "common practice, no source"
OWN = "your own record"
ALWAYS = ("open flame", "wax fire", "burns", "air", "bees")
"""What can burn, hurt or attract: said with every sheet on which wax is melted."""
STAR = f"* {COMMON}"
"""Below the steps of a sheet."""


@dataclass(frozen=True, slots=True)
class PourStep:
    """One thing to do, why, and where the figure is from."""

    text: str
    why: str
    source: str

    def sentence(self) -> str:
        """For other programs: all three."""
        return f"{self.text} ({self.why}; {self.source})"

    def on_sheet(self) -> str:
        """For the sheet, where a star stands for the source that most have."""
        return f"{self.text} ({self.why})\N{NO-BREAK SPACE}*" if self.source == COMMON else self.sentence()


def practice(name: str, table: str = "candle_practice", key: str = "practice") -> tuple[float, float]:
    """The low and high figure of a row of the reference tables; where it has only a highest, both are that."""
    row = next(r for r in shipped_files.reference(table) if r[key] == name)
    return float(row["low"] or row["high"]), float(row["high"])


def steps_for(at: PourAnswer, units: Units) -> list[PourStep]:
    """What to do, in order; a rolled candle is only cut and rolled."""
    return [*(_rolled(at, units) if at.candle.form == "rolled" else _melted(at, units))]


def _rolled(at: PourAnswer, units: Units) -> Iterator[PourStep]:
    trim = _short("wick_trim", units)
    yield PourStep(f"Cut {_pieces(at, units)} {trim} longer than the sheet is wide", "to light it by", COMMON)
    yield PourStep("Warm the sheet to room temperature and roll it round the wick", "cold sheet cracks", COMMON)
    yield PourStep("Press the last edge down along the whole candle", "a loose edge drips and comes undone", COMMON)


def _melted(at: PourAnswer, units: Units) -> Iterator[PourStep]:
    yield from _wick_steps(at, units)
    low, high = practice("clarify", "cautions", "caution")
    darkens = units.temperature(practice("darkening", "cautions", "caution")[0])
    melt = f"Melt over water and hold at {_range(low, high, units)}, never over {darkens}"
    yield PourStep(melt, "hotter it darkens", "Ritter 2018; Krell 1996, FAO bulletin 124")
    if at.candle.oil_share:
        gap = f"pure wax leaves a gap of {units.length(practice('wall_gap')[0])} or more at a jar's wall, oil closes it"
        yield PourStep("Melt the oil into the wax and stir", gap, COMMON)
    if at.candle.scent_share:
        warm, source = _temperature(at.scent, "scent_temp", units)
        yield PourStep(f"Off the heat, stir the scent in at {warm}", "hotter it is gone into the air", source)
    yield from _shaping(at, units)
    if at.sheet.keep_back_g > 0:
        text = "Keep the wax held back warm; top up when the middle has sunk, before it has set hard"
        yield PourStep(
            text,
            "solid wax takes less room than liquid; on set wax it drips",
            "densities in handbooks; common practice",
        )
    if at.candle.form == "dipped":
        yield PourStep("Hang them still until they are cold", "warm wax bends", COMMON)
    else:
        yield PourStep("Leave it still until it is pale and cold", "a knock cracks or tilts it", COMMON)
    yield PourStep(f"Trim the wick to {_short('wick_trim', units)}", "a long wick soots", COMMON)


def _shaping(at: PourAnswer, units: Units) -> Iterator[PourStep]:
    warm, source = _temperature(at.pour, "pour_temp", units)
    if at.candle.form == "dipped":
        yield from _vat(at, units)
        done = (
            f"until each weighs {small_units(at, units).reading(at.candle.fill_g)}"
            if at.candle.fill_g
            else "until they are thick enough"
        )
        text = f"Dip at {warm}, let each coat set before the next, {done}"
        yield PourStep(text, "hotter wax melts the last coat", source)
        return
    tub = units.temperature(practice("tub_limit")[1])
    yield PourStep(f"Fill the pouring tub; one of plastic only under {tub}", "hotter it goes soft", COMMON)
    room = f" of {units.temperature(at.room.temp_c)}, as in your pours without a flaw," if at.room else ""
    text = f"In a warm room{room} pour at {warm}, a film just forming, in one go, the largest vessels of the day first"
    yield PourStep(text, "hotter it sinks more, colder it sets in rings", source)


def _vat(at: PourAnswer, units: Units) -> Iterator[PourStep]:
    """A vat must stay full to the last dip: what stays in it is no wax of this batch, but must be there."""
    if at.vats:
        held = "; ".join(f"the {visible(name)} holds back {units.mass(g)}" for name, g in at.vats.items())
        text = f"Keep the vat full to the last dip: {held} beside what is weighed here"
    else:
        text = (
            "Keep the vat full to the last dip: melt what it holds beside what is weighed here, and cast it again after"
        )
    yield PourStep(text, "a candle dips no deeper than the wax stands", COMMON)


def _wick_steps(at: PourAnswer, units: Units) -> Iterator[PourStep]:
    spare, hang = _short("wick_spare", units), _short("wick_hang", units)
    named = _pieces(at, units)
    if at.candle.form == "dipped":
        length = (
            f", {units.length(round(at.height_mm + practice('wick_spare')[0], 0 if units.length_in == 'mm' else 2))}"
            if at.height_mm
            else ""
        )
        yield PourStep(f"Cut {named} {spare} longer than the candle shall be{length}", "to hold and hang it by", COMMON)
        return
    length = (
        f"{units.length(round(at.height_mm + practice('wick_spare')[0], 0 if units.length_in == 'mm' else 2))}, "
        if at.height_mm
        else ""
    )
    vessel = "vessel" if at.candle.form == "container" else "mould"
    yield PourStep(
        f"Cut {named} to {length}{spare} longer than the {units.spelled(vessel)} is high",
        "it must reach the bar that holds it",
        COMMON,
    )
    if at.candle.form == "container":
        tab = f"Fix it in the middle: tabbed to the bottom, or hung {hang} off it"
        yield PourStep(tab, "the flame must end before the floor of the vessel", COMMON)
    else:
        yield PourStep(
            units.spelled("Draw it through the mould, straight and in the middle"),
            units.spelled("a wick off centre burns one side"),
            COMMON,
        )


def _pieces(at: PourAnswer, units: Units) -> str:
    return f"{units.plural(at.sheet.count, 'piece')} of {_wick(at, units)}"


def small_units(at: PourAnswer, units: Units) -> Units:
    """The small scale's unit and step."""
    return replace(units, mass_in=_SMALL.get(units.mass_in, units.mass_in), step_g=at.small_step_g)


def _wick(at: PourAnswer, units: Units) -> str:
    if at.wick is None:
        return "the wick"
    sure = "" if at.wick_chance is None else f" (by your burn tests, {units.chance(at.wick_chance)})"
    return f"wick {visible(at.wick)}{sure}"


def _short(name: str, units: Units) -> str:
    """A length of the trade, as short as it is meant: ``6 mm``, ``0.25 in``."""
    length_mm = practice(name)[0]
    return units.length(round(length_mm) if units.length_in == "mm" else length_mm)


def _temperature(own: UsualPour | None, name: str, units: Units) -> tuple[str, str]:
    """The book's own temperature with how many pours it is from, else that of the trade; and where it is from."""
    if own is None:
        return _range(*practice(name), units), COMMON
    span = f", from {_range(own.low_c, own.high_c, units)}" if own.low_c < own.high_c else ""
    return f"{units.temperature(own.temp_c)}", f"{OWN}: {units.plural(own.pours, 'pour')} without a flaw{span}"


def _range(low_c: float, high_c: float, units: Units) -> str:
    """``75-80 °C``, or one figure."""
    low, high = units.temperature(low_c), units.temperature(high_c)
    return high if low == high else f"{low.partition(' ')[0]}-{high}"


def cautions_for(at: PourAnswer, units: Units) -> list[str]:
    """What to mind, the local rules first."""
    if at.candle.form == "rolled":
        return [LOCAL, *cautions(("test burn",), units)]
    fire, tub = (
        units.temperature(practice("fire limit", "cautions", "caution")[1]),
        units.temperature(practice("tub_limit")[1]),
    )
    limit = f"{fire} is the limit for fire; a plastic tub takes {tub} at most."
    glass = ("glass", "hot glass") if at.candle.form == "container" else ()
    return [LOCAL, limit, *cautions((*ALWAYS, *glass), units)]
