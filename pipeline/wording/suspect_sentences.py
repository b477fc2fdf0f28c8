"""The sentences on weights: which look mistyped, which cannot be checked, where wax goes missing again and again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from pipeline.answers.suspects import Fit, Placed
from pipeline.wording import slip_sentences
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import visible

LIKELY: Final = 0.5
"""From this chance on a step that lost more than usual is told."""


def not_checkable(what: str) -> str:
    """Why nothing can be said, and what to weigh so that it can."""
    return (
        f"Nothing in {what} is weighed twice, so no weight can be checked by another: weigh what goes into a pass (mass_in) "
        "as well as what was loaded, and the wax before casting (wax_out) as well as the blocks."
    )


def place(suspect: Placed) -> str:
    """Where a suspect stands: ``blocks.csv line 3, mass``."""
    if suspect.line is None:
        return f"{visible(suspect.log)}, a missing row"
    return f"{visible(suspect.log)} line {suspect.line}, {suspect.column}"


def suspects(fit: Fit, units: Units) -> str:
    """What the balances say in one sentence: the weight most likely mistyped, or that all fit."""
    if not fit.suspects and not fit.verdict.checkable:
        return not_checkable("this book")
    if not fit.suspects and fit.unexplained.alone:
        return "No slip that is known explains what the checks warn of."
    if not fit.suspects and fit.unexplained.warned:
        return "What check warns of is within what such steps usually lose: no single weight stands out."
    if not fit.suspects:
        return "Every balance that the weighings allow closes: no weight looks mistyped."
    first = fit.suspects[0]
    if first.likely is not None:
        found = [f"everything around it says {first.likely}"]
        return f"Look at {place(first)}: {found[0]} (chance {units.chance(first.chance)})."
    found = [f"it says {units.reading(first.value_g)}"] if first.value_g is not None else []
    found += [
        "nothing around it fits that"
        if first.likely_g is None
        else f"everything around it says {units.reading(first.likely_g)}"
    ]
    rest = f", the likeliest of {units.plural(len(fit.suspects), 'suspect')}" if len(fit.suspects) > 1 else ""
    return f"Look at {place(first)}: {', '.join(found)} (chance {units.chance(first.chance)}){rest}."


def each(fit: Fit, units: Units) -> Iterator[str]:
    """Every suspect in a paragraph, then steps that went off, and what else there is to say."""
    yield from (_told(s, units) for s in fit.suspects)
    if not fit.suspects:
        yield suspects(fit, units)
    yield from beside(fit, units)


def beside(fit: Fit, units: Units, most: int | None = None) -> Iterator[str]:
    """Steps that went off, warnings that no slip explains (``most`` of each), the scale's honesty, what nobody could test."""
    odd = [o for o in fit.verdict.odd_steps if o.chance >= LIKELY]
    yield from (slip_sentences.odd(o.balance, o.lost_g, units) for o in odd[:most])
    yield from (slip_sentences.unexplained(x.finding.place, x.finding.message) for x in fit.unexplained.alone[:most])
    if fit.unexplained.usually:
        yield slip_sentences.usual(len(fit.unexplained.usually))
    if fit.scale:
        yield slip_sentences.scale(fit.scale)
    if fit.untested:
        yield slip_sentences.untested(fit.untested)


def _told(s: Placed, units: Units) -> str:
    value = f": {units.reading(s.value_g)}" if s.value_g is not None else ""
    likely = f", likely {units.reading(s.likely_g)}" if s.likely_g is not None else ""
    likely = f": likely {visible(s.likely)}" if s.likely is not None else likely
    return f"{place(s)}{value}{likely} (chance {units.chance(s.chance)}): {s.reason}"


def latest_sessions(n: int, of: int, units: Units) -> str:
    """Which sessions of a big book the page balances."""
    return (
        f"Balanced here: the latest {units.number(n)} of {units.number(of)} sessions; "
        "combtally suspects goes through all of them."
    )
