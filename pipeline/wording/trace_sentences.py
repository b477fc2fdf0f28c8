"""A trace in words: what a thing is made of, what was made of it, and what would have to be called back."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from pipeline.answers.trace import TRACEABLE, Destination, Journey, NotFound, Origin, Trace
from pipeline.wording.amounts import PAGE, Units
from pipeline.wording.block_quality_sentences import quality
from pipeline.wording.visible_text import visible

_WORDS = {"unknown": "not known", "draw": "draws.csv line", "sale": "sales.csv line"}
_PLURALS = {"session": "sessions", "block": "blocks", "draw": "draws", "batch": "batches", "sale": "sales"}
_MANY = 6
"""More of a kind than this are summed up in one line: a question should have its answer on one screen."""
_WIDE = 80
_PERHAPS = " (perhaps: no batch was written down)"
_MIXED = "Shares are of mass. Molten wax mixes: every block and candle of a melt holds all its sources alike."
_SHARED = "* several hives of one harvest, counted in even parts: nobody weighed them apart"


def trace(found: Trace, units: Units, every: bool = False) -> str:
    """The whole answer for a terminal, on one screen unless ``every`` row is asked for."""
    parts = [list(_made_of(found, units, every)), list(_made_into(found, units, every)), list(_call_back(found, units))]
    if found.quality:
        parts.insert(1, [f"The wax of block {visible(found.id)}", *quality(found.quality, units)])
    return "\n\n".join("\n".join(map(_wrapped, part)) for part in parts if part)


def _wrapped(line: str) -> str:
    return line if len(line) <= _WIDE else textwrap.fill(line, _WIDE, subsequent_indent="  ", break_on_hyphens=False)


def not_found(found: NotFound) -> str:
    """Why a name leads to no one thing, and what to type instead."""
    if found.candidates:
        names = ", ".join(f'"{kind} {visible(name)}"' for kind, name in found.candidates)
        return f"{visible(found.asked)} stands for several things: say which, such as {names}"
    kinds = ", ".join(TRACEABLE)
    return (
        f"{visible(found.asked)} is in no log of this book; name one of its things, with the kind before it ({kinds})"
    )


def _made_of(found: Trace, units: Units, every: bool) -> Iterator[str]:
    if not found.up:
        return
    yield f"What {found.kind} {visible(found.id)} is made of"
    for group in (("harvest", "block", "unknown"), ("hive",), ("apiary",), ("supplier",)):
        of_group = [s for s in found.up if s.kind in group]
        shown = of_group if every or len(of_group) <= _MANY + 1 else of_group[:_MANY]
        yield from (_source(s, units) for s in shown)
        if rest := of_group[len(shown) :]:
            yield f"  {f'{len(rest)} more, --all lists them':<40} {units.share(sum(s.share for s in rest)):>9}"
    if any(s.flags for s in found.up):
        yield _SHARED
    yield _MIXED


def _source(source: Origin, units: Units) -> str:
    words = _WORDS.get(source.kind, source.kind)
    name = words if source.kind == "unknown" else f"{words} {'not logged' if source.id is None else visible(source.id)}"
    return f"  {name:<40} {units.share(source.share):>9}{' *' if source.flags else ''}"


def _made_into(found: Trace, units: Units, every: bool) -> Iterator[str]:
    if not found.down:
        yield f"Nothing was made of {found.kind} {visible(found.id)} yet."
        return
    yield f"Where the wax of {found.kind} {visible(found.id)} went, stage by stage (each stage is made of the one before)"
    for kind in ("session", "block", "draw", "batch", "sale", "shelf"):
        outcomes = [o for o in found.down if o.kind == kind]
        if len(outcomes) > _MANY and not every:
            yield from _summed(kind, outcomes, units)
        else:
            yield from (f"  {_outcome(o, units):<52} {_mass(o.mass_g, units):>10}" for o in outcomes)
    if not every and any(len([o for o in found.down if o.kind == kind]) > _MANY for kind in _PLURALS):
        yield "--all lists each of them."


def _mass(mass_g: float | None, units: Units) -> str:
    return "perhaps" if mass_g is None else units.mass(mass_g)


def _summed(kind: str, outcomes: list[Destination], units: Units) -> Iterator[str]:
    """Many of a kind in one line; sales in a line for each candle and for whether their batch is known."""
    for (candle, sure), members in _alike(outcomes).items():
        span = _span(members, units)
        what = f"{len(members)} {_PLURALS[kind]}" + (
            f", {sum(o.count or 0 for o in members)} {visible(candle)}" if candle else ""
        )
        yield f"  {what + span:<52} {_mass(sum(o.mass_g or 0 for o in members) if sure else None, units):>10}"


def _outcome(outcome: Destination, units: Units) -> str:
    if outcome.kind == "shelf":
        return f"still on the shelf: {', '.join(visible(block) for block, _ in outcome.blocks)}"
    words = f"{_WORDS.get(outcome.kind, outcome.kind)} {visible(outcome.id)}"
    if outcome.count is not None:
        words += f", {outcome.count} {visible(outcome.candle)} sold"
    elif outcome.candle is not None:
        words += f", {visible(outcome.candle)}"
    return f"{words}, {units.day(outcome.date)}" if outcome.date else words


def _call_back(found: Trace, units: Units) -> Iterator[str]:
    """What a hold means: what of it is out of the house, what is still here."""
    if not found.hold:
        return
    yield from (f"On hold: harvest {visible(harvest)} ({visible(why)})." for harvest, why in found.hold[:_MANY])
    if more := found.hold[_MANY:]:
        yield f"On hold: {units.plural(len(more), 'harvest')} more."
    parts = [*_sold(found, units), *_kept(found, units)]
    yield (
        f"To call back: {'; '.join(parts)}."
        if parts
        else "Nothing of it has left as candles, and no block of it is on the shelf."
    )
    yield "Ask your bee inspector before any of it is sold, given away or fed back to bees."


def _sold(found: Trace, units: Units) -> Iterator[str]:
    """What of it was sold: each sale, or of many the candles and the days."""
    if found.kind == "sale":
        yield f"the candles of sales.csv line {found.id}"
    sold = [o for o in found.down if o.kind == "sale"]
    if len(sold) <= _MANY:
        yield from (
            f"{_candles(o)} sold on {units.day(o.date)}{'' if o.mass_g is not None else _PERHAPS}" for o in sold
        )
        return
    for (candle, sure), members in _alike(sold).items():
        count = sum(o.count or 0 for o in members)
        yield f"{count} {visible(candle)} in {len(members)} sales{_span(members, units)}{'' if sure else _PERHAPS}"


def _alike(outcomes: list[Destination]) -> dict[tuple[str | None, bool], list[Destination]]:
    """Sales by candle, and all by whether their mass is known."""
    groups: dict[tuple[str | None, bool], list[Destination]] = {}
    for o in outcomes:
        groups.setdefault((o.candle if o.kind == "sale" else None, o.mass_g is not None), []).append(o)
    return groups


def _span(outcomes: list[Destination], units: Units) -> str:
    days = [o.date for o in outcomes if o.date]
    return f", {units.day(min(days))} to {units.day(max(days))}" if days else ""


def _candles(sale: Destination) -> str:
    of = f" of {visible(sale.batch)}" if sale.batch else ""
    return f"{sale.count} {visible(sale.candle)}{of}"


def _kept(found: Trace, units: Units) -> Iterator[str]:
    """What of it is still in the house: blocks, and candles that nobody bought."""
    batches = [o.id for o in found.down if o.kind == "batch"] + ([found.id] if found.kind == "batch" else [])
    if batches:
        named = (
            ", ".join(map(visible, batches))
            if len(batches) <= _MANY
            else units.plural(len(batches), "batch", "batches")
        )
        yield f"what is not sold of {named}"
    if shelf := next((o for o in found.down if o.kind == "shelf"), None):
        yield f"{units.plural(len(shelf.blocks), 'block')} on the shelf"


JOURNEY_METHOD = (
    "The batch is followed back from the blocks drawn for it to the sessions that they were cast from, through wax melted "
    "again, to the comb that was first melted, the harvest and its hives. Molten wax mixes, so every candle of the batch "
    f"holds all of these alike; shares are of mass. {_SHARED[2:].capitalize()}. combtally trace follows any other thing."
)


def journey(found: Journey) -> str:
    """Where the latest batch came from, in one sentence."""
    harvests = {w.begin for w in found.ways if w.begin.kind == "harvest"}
    hives = {hive for mine in found.hives.values() for hive, _ in mine if hive}
    from_hives = f" and {PAGE.plural(len(hives), 'hive')}" if hives else ""
    unknown = sum(w.share for w in found.ways if w.begin.kind == "unknown")
    rest = f"; where {PAGE.share(unknown)} of it is from was not written down" if unknown else ""
    what = f"{visible(found.batch)} ({visible(found.candle)})"
    return f"The wax of {what} came from {PAGE.plural(len(harvests), 'harvest')}{from_hives}{rest}."
