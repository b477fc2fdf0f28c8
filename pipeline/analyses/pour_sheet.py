"""The sheet to lay beside the scale for one batch: what to weigh, which blocks, what to do and what to mind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.analyses.candle_capacity import Candle, sink_of
from pipeline.analyses.pour_steps import Place, Step, cautions_for, steps_for
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
    """Units and vessel, densities, the scale's step, and whether the candle wants light wax."""

    place: Place
    densities: Mapping[str, float]
    step_g: float
    light: bool = False


@dataclass(frozen=True, slots=True)
class PourSheet:
    """Everything on the sheet; masses in g."""

    batch: str
    date: date
    candle: str
    count: int
    ingredients: tuple[Ingredient, ...]
    blocks: tuple[Drawn, ...]
    short_g: float
    keep_back_g: float
    order: tuple[str, ...]
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]


def sheet(pour: Pour, others: Sequence[Pour], shelf: Sequence[Block], at: Workshop) -> PourSheet:
    """Work the sheet out; ``others``: further pours of that day."""
    masses = {name: mass * pour.count for name, mass in pour.candle.parts_g.items()}
    ingredients = tuple(Ingredient(name, mass, to_step(mass, at.step_g)) for name, mass in masses.items())
    wax_g = next((i.weigh_g for i in ingredients if i.name == "wax"), 0.0)
    blocks = choose(shelf, wax_g, at.light)
    keep_g = sum(masses.values()) * sink_of(pour.candle, at.densities) if pour.candle.sinks else 0.0
    return PourSheet(
        batch=pour.batch,
        date=pour.date,
        candle=pour.candle.candle,
        count=pour.count,
        ingredients=ingredients,
        blocks=blocks,
        short_g=max(wax_g - sum(b.mass_g for b in blocks), 0.0),
        keep_back_g=to_step(keep_g, at.step_g),
        order=largest_first([pour, *others]),
        steps=steps_for(pour.candle, at.place, keep_g > 0),
        cautions=cautions_for(pour.candle, at.place),
        notes=_notes(pour, shelf, at.light),
    )


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


def _notes(pour: Pour, shelf: Sequence[Block], light: bool) -> tuple[str, ...]:
    notes = []
    if pour.status != "planned":
        notes.append(f"this batch is logged as {pour.status}")
    if pour.candle.wax_each_g is None:
        notes.append("the wax in this candle cannot be worked out: give its mass, volume or size")
    elif pour.candle.form == "rolled":
        notes.append("rolled of bought sheet: nothing to melt")
    if light and not any(b.colour in LIGHT for b in shelf):
        notes.append("no light block is logged on the shelf: the colours named are the lightest there are")
    return tuple(notes)
