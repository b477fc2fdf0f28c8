"""What chart and burn tests say of a candle's wick, in words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from pipeline.analyses.burn_verdicts import BurnReading, Says
from pipeline.analyses.burning_time import Spread
from pipeline.analyses.burns_of_other_widths import BurnVerdict
from pipeline.analyses.wick_choice import Seen
from pipeline.answers.wick import WickAnswer
from pipeline.wording.amounts import RANGE, Units
from pipeline.wording.cautions import BURNING, LOCAL, cautions
from pipeline.wording.visible_text import DASH, visible

SAID = {Says.SMALL: "too small", Says.RIGHT: "right", Says.LARGE: "too large", Says.NONE: "no verdict"}

_WHY = {
    "sputtering": "it sputtered: honey, water or dirt in the wax; filter the wax again, the burn says nothing of the wick",
    "drowned": "the flame drowned in its pool",
    "tunnel": "it left wax standing at the wall",
    "soot": "heavy soot",
    "flame": "the flame was {found} high, over {limit}",
    "gutters": "it guttered: thin, flickering and then out deep in the vessel, too large or short of air",
    "no diameter": "the candle has no diameter in candles.csv, so its pool cannot be judged",
    "no pool": "the pool_diameter was not measured",
    "no depth": "the pool is at the wall and its pool_depth was not measured",
    "drips": "it dripped",
    "went out": "it went out by itself",
    "burns clean": "no drips, no heavy soot, and it stayed alight",
    "short burn": "it burned {found}, and a pool is judged after {limit} at this width",
    "out at the wall": "it went out with the pool at the wall, {found} wide: too much wax for the air or the flame",
    "out before the wall": "it went out with the pool {found} wide, short of {limit}",
    "pool short": "the pool is {found} wide and should reach {limit}",
    "pool deep": "the pool is {found} deep, over {limit}",
    "pool at the wall": "the pool is {found} wide, at the wall and not deep",
    "rim wide": "{found} of solid wax stand round the pool, over {limit}",
    "rim thin": "{found} of solid wax stand round the pool, under {limit}",
    "rim right": "{found} of solid wax stand round the pool",
}
"""What each rule of a verdict means, with the measure that decided."""

_SHOWN = 12
"""So many contradictions are listed: more of them say no more."""


def why(reading: BurnReading, units: Units) -> str:
    """Why a burn says what it says."""
    tell = units.time if reading.rule == "short burn" else units.length
    return _WHY[reading.rule].format(found=tell(reading.found), limit=tell(reading.limit))


def answer(found: WickAnswer, units: Units) -> str:
    """The whole answer for a terminal."""
    parts = (_kind(found, units), _burns(found, units), _chances(found, units), _verdict(found, units))
    told = ["\n".join(part) for part in parts]
    notes = [_wrapped(f"note: {n}", 2) for n in notes_for(found, units)]
    minded = [_wrapped(f"! {c}", 2) for c in (LOCAL, *cautions(BURNING, units))]
    return "\n\n".join(part for part in (*told, "\n".join(notes), "\n".join(minded)) if part)


def _wrapped(line: str, indent: int) -> str:
    return textwrap.fill(line, 80, subsequent_indent=" " * indent, break_on_hyphens=False)


def _kind(found: WickAnswer, units: Units) -> Iterator[str]:
    kind = found.kind
    width = f", {units.length(kind.diameter_mm)} across" if kind.diameter_mm is not None else ""
    yield f"{visible(kind.candle)}: {kind.form}{width}, wax: {visible(kind.blend)}"
    yield chart(found, units)


def chart(found: WickAnswer, units: Units) -> str:
    """What the maker's chart says, and which sizes are worth a test."""
    if found.kind.diameter_mm is None:
        return "No chart: the candle has no diameter in candles.csv."
    if not found.chart:
        return f"Chart: no wick in wicks.csv is for {units.length(found.kind.diameter_mm)}."
    edge = " (on the edge of two sizes: test both)" if len(found.chart) > 1 else ""
    return (
        f"Chart: {', '.join(map(visible, found.chart))}{edge}; sizes to test: {', '.join(map(visible, found.to_test))}."
    )


def _burns(found: WickAnswer, units: Units) -> Iterator[str]:
    if found.verdicts:
        yield "Burn tests"
    yield from (_burn(v, units) for v in found.verdicts)
    if found.borrowed:
        yield "Borrowed from other widths of this wax"
    yield from (_burn(v, units, f" ({visible(v.candle)})") for v in found.borrowed)


def _burn(v: BurnVerdict, units: Units, of: str = "") -> str:
    name = f"{visible(v.burn.test)}/{v.burn.burn}"
    told = f"  {name:<8} {visible(v.burn.wick):<8} {SAID[v.reading.says]:<11} {why(v.reading, units)}{of}"
    return _wrapped(told, 32)


def _chances(found: WickAnswer, units: Units) -> Iterator[str]:
    if found.choice.choice is None:
        return
    yield "How likely each size is right, too small, too large"
    for c in found.choice.chances:
        told = "".join(f"{units.chance(x):>11}" for x in (c.chance, c.small, c.large))
        yield f"  {visible(c.wick):<12}{told}"


def _verdict(found: WickAnswer, units: Units) -> Iterator[str]:
    yield _wrapped(choice(found, units), 0)
    if found.rate_g_per_h.mid is not None:
        yield _wrapped(burning(found, units), 0)


def choice(found: WickAnswer, units: Units) -> str:
    """The choice, how sure it is, and the next test worth making."""
    picked, following = found.choice.choice, found.choice.next_test
    if picked is None:
        return (
            f"No burn has a verdict yet. Next: test {visible(following)}." if following else "No wick to choose from."
        )
    chance = next(c.chance for c in found.choice.chances if c.wick == picked)
    if found.off_the_end is Says.SMALL:
        return "Every wick is too small, the largest too: a larger size is needed, or a narrower candle."
    if found.off_the_end is Says.LARGE:
        return "Every wick is too large, the smallest too: a smaller size is needed, or a wider candle."
    ahead = "no further test is needed" if following is None else f"next: test {visible(following)} once more"
    return f"Choice: {visible(picked)}, right {units.with_chance(chance)}; {ahead}."


def burning(found: WickAnswer, units: Units) -> str:
    """How fast it burns, and how long a candle lasts."""
    burned = _spread(rate(found, units), units, rate_decimals(units), f"{units.small_unit} an hour")
    hours = f"; one candle burns about {hours_of(found, units)}" if found.time_h.mid is not None else ""
    few = "" if found.rate_g_per_h.low is not None else " (one test: two give a range)"
    return f"It burns {burned}{hours}{few}."


def rate(found: WickAnswer, units: Units) -> Spread:
    """How much of it burns in an hour, in the unit of what one candle takes."""
    g = found.rate_g_per_h
    return Spread(*map(units.mass_small, (g.low, g.mid, g.high)))


def rate_decimals(units: Units) -> int:
    """Decimals of a rate: a tenth of a gram, a hundredth of an ounce."""
    return 1 if units.small_unit == "g" else 2


def hours_of(found: WickAnswer, units: Units) -> str:
    """The burning time of one candle: ``29 h``, ``29 h (26 to 33)``."""
    return _spread(found.time_h, units, 0, "h")


def _spread(spread: Spread, units: Units, decimals: int, unit: str) -> str:
    mid = DASH if spread.mid is None else units.number(spread.mid, decimals)
    if spread.low is None or spread.high is None:
        return f"{mid} {unit}"
    return f"{mid} {unit} ({units.number(spread.low, decimals)} to {units.number(spread.high, decimals)}, {RANGE})"


def notes_for(found: WickAnswer, units: Units) -> list[str]:
    """What else to know: contradictions, a narrow mouth, a jar that needs a test series of its own."""
    kind, notes = found.kind, [contradiction(a, b) for a, b in found.contradictions[:_SHOWN]]
    if len(found.contradictions) > _SHOWN:
        notes.append(f"{len(found.contradictions) - _SHOWN} more such pairs")
    if kind.mouth_mm is not None and kind.diameter_mm is not None and kind.mouth_mm < kind.diameter_mm:
        mouth, jar = units.length(kind.mouth_mm), units.length(kind.diameter_mm)
        notes.append(
            f"the mouth ({mouth}) is narrower than the jar ({jar}): soot is likelier, a gap at the wall shows less"
        )
    if kind.wick and found.spoken_for and kind.wick != found.spoken_for:
        notes.append(f"candles.csv gives it {visible(kind.wick)}, the tests speak for {visible(found.spoken_for)}")
    if kind.form == "container" and not found.shared and not found.verdicts:
        notes.append(
            "no other jar of this wax is as wide: it costs a test series of its own; a few standard jars save that"
        )
    return notes


def contradiction(a: Seen, b: Seen) -> str:
    """Two verdicts of which one must be wrong."""
    one, other = (f"{visible(s.test)}/{s.burn} found {visible(s.wick)} {SAID[s.says]}" for s in (a, b))
    return f"{one}, and {other}: both cannot be; repeat that burn"
