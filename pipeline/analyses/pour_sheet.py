"""What to weigh for one batch, which blocks to take, and what earlier pours of its kind say of its temperatures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median

from pipeline.analyses.candle_ingredients import Candle, sink_of
from pipeline.contract.log_columns import COLOURS

LIGHT = COLOURS[:2]


@dataclass(frozen=True, slots=True)
class Block:
    """A block of pure wax on the shelf."""

    block: str
    date: date
    mass_g: float
    colour: str | None = None


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One thing to weigh: its exact mass, and the mass on the scale's step."""

    name: str
    mass_g: float
    weigh_g: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """A block to take: so much of it; ``left_g`` stays on the shelf."""

    block: str
    mass_g: float
    left_g: float
    colour: str | None


@dataclass(frozen=True, slots=True)
class Pour:
    """A batch to pour."""

    batch: str
    date: date
    count: int
    status: str
    candle: Candle


@dataclass(frozen=True, slots=True)
class Workshop:
    """Densities (g/ml), the steps of the scale for wax and of the small one for oil and scent (g), the wish for light wax."""

    densities: Mapping[str, float]
    step_g: float
    small_step_g: float
    light: bool = False


@dataclass(frozen=True, slots=True)
class PourSheet:
    """What a batch takes; masses in g. ``promised``: earlier planned batches, and what they take of the shelf.

    ``enough_for``: how many of the candles the wax named is enough for.
    """

    batch: str
    date: date
    candle: str
    count: int
    status: str
    ingredients: tuple[Ingredient, ...]
    blocks: tuple[Drawn, ...]
    short_g: float
    enough_for: int
    keep_back_g: float
    order: tuple[str, ...]
    promised: tuple[tuple[str, float], ...]
    no_light: bool


def sheet(pour: Pour, planned: Sequence[Pour], shelf: Sequence[Block], at: Workshop) -> PourSheet:
    """Work the sheet out. ``planned``: all planned batches in the order of pouring; those before it take their wax first."""
    masses = {name: mass * pour.count for name, mass in pour.candle.parts_g.items()}
    ingredients = tuple(_ingredient(name, mass, at) for name, mass in masses.items())
    wax_g = _wax_g(pour, at)
    before = [] if pour.status != "planned" else planned[: [p.batch for p in planned].index(pour.batch)]
    left, promised = _after(before, shelf, at)
    blocks = choose(left, wax_g, at.light)
    keep_g = sum(masses.values()) * sink_of(pour.candle, at.densities) if masses and pour.candle.sinks else 0.0
    drawn_g = sum(b.mass_g for b in blocks)
    day = [p for p in planned if p.date == pour.date and p.batch != pour.batch]
    return PourSheet(
        batch=pour.batch,
        date=pour.date,
        candle=pour.candle.candle,
        count=pour.count,
        status=pour.status,
        ingredients=ingredients,
        blocks=blocks,
        short_g=max(wax_g - drawn_g, 0.0),
        enough_for=_enough_for(pour, drawn_g, wax_g),
        keep_back_g=to_step(keep_g, at.step_g),
        order=largest_first([pour, *day]),
        promised=promised,
        no_light=at.light and not any(b.colour in LIGHT for b in left),
    )


def _ingredient(name: str, mass_g: float, at: Workshop) -> Ingredient:
    """Oil and scent are weighed on the small scale."""
    return Ingredient(name, mass_g, to_step(mass_g, at.step_g if name == "wax" else at.small_step_g))


def _enough_for(pour: Pour, drawn_g: float, wax_g: float) -> int:
    """All of them where nothing is lacking, whatever the scale's step makes of the sum."""
    return pour.count if drawn_g >= wax_g else int(pour.count * drawn_g / wax_g)


def _wax_g(pour: Pour, at: Workshop) -> float:
    return to_step(pour.candle.parts_g.get("wax", 0.0) * pour.count, at.step_g)


def _after(
    pours: Sequence[Pour], shelf: Sequence[Block], at: Workshop
) -> tuple[list[Block], tuple[tuple[str, float], ...]]:
    """The shelf as these pours leave it, each taking its blocks as its own sheet says, and what each takes (g)."""
    left = {b.block: b for b in shelf}
    promised = []
    for pour in pours:
        drawn = choose(list(left.values()), _wax_g(pour, at))
        for d in drawn:
            left[d.block] = replace(left[d.block], mass_g=d.left_g)
        promised.append((pour.batch, sum(d.mass_g for d in drawn)))
    return list(left.values()), tuple((batch, mass_g) for batch, mass_g in promised if mass_g > 0)


@dataclass(frozen=True, slots=True)
class Done:
    """A pour of the same kind as it went: temperatures in °C, and whether it came out without a flaw."""

    batch: str
    date: date
    pour_temp_c: float | None
    scent_temp_c: float | None
    room_temp_c: float | None
    flaws: str | None
    flawless: bool


@dataclass(frozen=True, slots=True)
class UsualPour:
    """A temperature of the book's own flawless pours of a kind: the middle one, of how many, from and to, °C."""

    temp_c: float
    pours: int
    low_c: float
    high_c: float


def usual(done: Sequence[Done], what: str) -> UsualPour | None:
    """The usual ``pour``, ``scent`` or ``room`` temperature of flawless pours; None where none was measured."""
    temps = [t for d in done if d.flawless and (t := getattr(d, f"{what}_temp_c")) is not None]
    return UsualPour(median(temps), len(temps), min(temps), max(temps)) if temps else None


def to_step(mass_g: float, step_g: float) -> float:
    """The nearest mass that the scale can show."""
    return round(mass_g / step_g) * step_g if step_g > 0 else mass_g


def choose(shelf: Sequence[Block], wax_g: float, light: bool = False) -> tuple[Drawn, ...]:
    """Whole blocks oldest first and at most one cut, the last; light blocks first where ``light`` is wanted."""
    drawn: list[Drawn] = []
    left_g = wax_g
    for b in sorted((b for b in shelf if b.mass_g > 0), key=lambda b: _turn(b, light)):
        if left_g <= 1e-9:
            break
        taken_g = min(b.mass_g, left_g)
        drawn.append(Drawn(b.block, taken_g, b.mass_g - taken_g, b.colour))
        left_g -= taken_g
    return tuple(drawn)


def _turn(b: Block, light: bool) -> tuple[int, date, str]:
    """Colour only counts for light candles; a block without a logged colour comes after the light ones."""
    shade = COLOURS.index(b.colour) if b.colour in COLOURS else len(LIGHT)
    return (shade if light else 0, b.date, b.block)


def largest_first(pours: Sequence[Pour]) -> tuple[str, ...]:
    """The batches of the day from the largest candle to the smallest, the wax being hottest at first."""
    return tuple(p.batch for p in sorted(pours, key=lambda p: (-(p.candle.fill_g or 0.0), p.batch)))
