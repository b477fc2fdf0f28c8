"""The sheet of one batch in words: what to weigh, which blocks, what to do, what to mind, what to write down."""

from __future__ import annotations

import shlex
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.analyses.flaw_evidence import NO_FAULT
from pipeline.analyses.pour_sheet import Drawn, Ingredient
from pipeline.answers.flaws import known_flaws
from pipeline.answers.pour import PourAnswer
from pipeline.contract.quantities import UNITS
from pipeline.wording.amounts import POUNDS_AND_OUNCES, Units
from pipeline.wording.pour_steps import COMMON, STAR, cautions_for, practice, small_units, steps_for
from pipeline.wording.visible_text import visible

COMMAND = "combtally "
"""How a line begins that is to be typed."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the sheet: its title and lines; ``mark``: a box to tick, a caution, or a line to write on."""

    title: str
    lines: tuple[str, ...]
    mark: str = "tick"


def unknown(near: list[str], batch: str) -> str:
    """What to say where no batch has that name, or the one that has it is of no kind that the book knows."""
    if batch in near:
        return f"the candle of batch {visible(batch)} is not in candles.csv: describe it there first"
    meant = f"; did you mean {', '.join(map(visible, near))}?" if near else "; batches.csv has none"
    return f"no batch is named {visible(batch)}{meant}"


def title(at: PourAnswer, units: Units) -> str:
    """The batch, what it is of, how much of it in each (topped up), and when."""
    each = f" of {small_units(at, units).reading(at.candle.fill_g)}" if at.candle.fill_g else ""
    return f"{visible(at.sheet.batch)}: {at.sheet.count} x {visible(at.sheet.candle)}{each}, {units.day(at.sheet.date)}"


def parts(at: PourAnswer, units: Units, book: str) -> list[Part]:
    """The sheet from top to bottom; parts without a line are left out. ``book``: its folder, as commands name it."""
    told = (
        Part("Know", tuple(_known(at, units)), "note"),
        Part("Weigh", tuple(_weighed(at, units))),
        Part("Blocks", tuple(_blocks(at, units))),
        Part("Steps", tuple(s.on_sheet() for s in steps_for(at, units))),
        Part("", (STAR,), "note"),
        Part("Cautions", tuple(cautions_for(at, units)), "caution"),
        Part("Write down", measured(at, units), "write"),
        Part("Then record", tuple(recorded(at, units, book)), "note"),
    )
    return [p for p in told if p.lines]


def terminal(at: PourAnswer, units: Units, book: str) -> str:
    """The sheet in 80 columns, a box before each line to tick."""
    lines = [title(at, units)]
    marks = {"tick": "  - ", "caution": "  ! ", "write": "  _ ", "note": "    "}
    for part in parts(at, units, book):
        lines += ["", part.title] if part.title else []
        for line in part.lines:
            mark = "    " if line.startswith(COMMAND) else marks[part.mark]
            wrapped = textwrap.wrap(
                line, 78, initial_indent=mark, subsequent_indent="    ", break_on_hyphens=False, break_long_words=False
            )
            lines += [f"{w} \\" for w in wrapped[:-1]] + wrapped[-1:] if line.startswith(COMMAND) else wrapped
    return "\n".join(lines)


def _known(at: PourAnswer, units: Units) -> Iterator[str]:
    """The vessel, the last pour of the kind, and what stands against pouring."""
    sheet, candle = at.sheet, at.candle
    if at.diameter_mm is not None:
        high = f", {units.length(at.height_mm)} high" if at.height_mm else ""
        what = {"container": "the vessel", "mould": "the mould"}.get(candle.form, "the candle")
        yield f"Measure {units.spelled(what)}: {units.length(at.diameter_mm)} across inside{high}."
    yield from _usual_scent(at, units)
    if at.last is not None:
        went = (
            f"went wrong: {visible(at.last.flaws)}" if at.last.flaws and not at.last.flawless else "nothing went wrong"
        )
        now = "".join(f" Now: {change}." for change in at.cures)
        yield f"Last time ({visible(at.last.batch)}, {units.day(at.last.date)}) {went}.{now}"
    if len(sheet.order) > 1:
        yield f"Order of the day, the largest first: {' then '.join(map(visible, sheet.order))}."
    if sheet.promised:
        told = "; ".join(f"{visible(batch)} {units.mass(g)}" for batch, g in sheet.promised)
        yield f"Planned before it, and left out of the blocks below: {told}."
    if sheet.status != "planned":
        yield f"This batch is logged as {sheet.status}."
    if candle.wax_each_g is None:
        yield (
            "The wax in this candle cannot be worked out: give its mass, volume or size in candles.csv, and in "
            "blends.csv a recipe that sums to 100 %."
        )
    elif candle.form == "rolled":
        yield "Rolled of bought sheet: nothing to melt."
    if sheet.no_light:
        yield units.spelled("No light block is logged on the shelf: the colours named are the lightest there are.")


def _weighed(at: PourAnswer, units: Units) -> Iterator[str]:
    """Wax as the book shows it; oil and scent, and wax that fits the small scale, in its unit: 9.3 oz, never 0.58 lb."""
    small = small_units(at, units)
    for i in at.sheet.ingredients:
        yield f"{visible(i.name)}: {_ingredient(i, units, small)}"
    if at.sheet.keep_back_g:
        yield f"of this, keep back to top up: {units.reading(at.sheet.keep_back_g)}"


def _usual_scent(at: PourAnswer, units: Units) -> Iterator[str]:
    """How much scent is usual in so much wax and oil."""
    scent = next((i for i in at.sheet.ingredients if i.name == (at.candle.scent or "scent")), None)
    if scent is None or not at.candle.scent_share:
        return
    both_g, small, (low, high) = scent.mass_g / at.candle.scent_share, small_units(at, units), practice("scent_share")
    outside = "" if low <= at.candle.scent_share <= high else " Your recipe is outside that."
    yield (
        f"Scent: {small.reading(low * both_g)} to {small.reading(high * both_g)} is usual in so much "
        f"({COMMON}); the limit that the scent's maker gives comes first.{outside}"
    )


def _ingredient(i: Ingredient, units: Units, small: Units) -> str:
    if i.name != "wax":
        return small.reading(i.weigh_g)
    large, fine = units.reading(i.weigh_g), small.reading(i.weigh_g)
    one = i.weigh_g < UNITS["lb"].factor or units.mass_in not in ("lb", POUNDS_AND_OUNCES)
    return large if one else f"{large} ({fine})"


def _blocks(at: PourAnswer, units: Units) -> Iterator[str]:
    for block in at.sheet.blocks:
        yield _drawn(block, units)
    if at.sheet.short_g:
        enough = (
            f"enough for {at.sheet.enough_for} of {at.sheet.count}" if at.sheet.enough_for else "not enough for one"
        )
        yield (
            f"{units.reading(at.sheet.short_g)} of wax are lacking on the shelf ({enough}): pour fewer, later, or buy wax"
        )


def _drawn(b: Drawn, units: Units) -> str:
    name = f"{visible(b.block)} ({b.colour})" if b.colour else visible(b.block)
    if b.left_g > 0:
        return f"{name}: cut {units.reading(b.mass_g)}, {units.reading(b.left_g)} stays"
    return f"{name}: all, {units.reading(b.mass_g)}"


def measured(at: PourAnswer, units: Units) -> tuple[str, ...]:
    """What to write down, with room for it."""
    done = f"came out right: ____ of {at.sheet.count}   what went wrong: ____________________"
    if at.candle.form == "rolled":
        return (f"rolled on: ________   {done}",)
    degree = f"°{units.temperature_in}"
    scent = f"scent in at: ____ {degree}   " if at.candle.scent_share else ""
    blocks = "   ".join(f"{visible(b.block)}:\N{NO-BREAK SPACE}________" for b in at.sheet.blocks)
    return (
        f"poured on: ________   wax: ____ {degree}   {scent}room: ____ {degree}",
        done,
        *((f"weighed off  {blocks}",) if blocks else ()),
    )


def recorded(at: PourAnswer, units: Units, book: str) -> Iterator[str]:
    """The commands that take what was written down back into the book."""
    if at.sheet.status != "planned":
        return
    degree = f"'… °{units.temperature_in}'"
    temps = ["pour_temp", *(["scent_temp"] if at.candle.scent_share else []), "room_temp"]
    asked = "" if at.candle.form == "rolled" else "".join(f" {name}={degree}" for name in temps)
    to, batch, blocks = shlex.quote(visible(book)), shlex.quote(at.sheet.batch), at.sheet.blocks
    yield f"{COMMAND}record {to} batch batch={batch} date=… status=poured good=…{asked} flaws='…'"
    if blocks:
        block = shlex.quote(blocks[0].block) if len(blocks) == 1 else "…"
        yield f"{COMMAND}record {to} draw date=… block={block} mass='…' use=candles batch={batch}"
    each = " The second command once for each block; masses with their unit." if len(blocks) > 1 else ""
    faults = ", ".join(flaw for flaw in known_flaws() if flaw != NO_FAULT)
    yield f"Leave out what was not seen; flaws: {faults}.{each}"
