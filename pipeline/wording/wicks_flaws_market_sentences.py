"""What burn tests, flaws and sales teach, each in the sentence that its panel of the report begins with."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.analyses.flaw_evidence import NO_FAULT
from pipeline.answers.flaws import FlawsAnswer
from pipeline.answers.market import MarketAnswer, Selling
from pipeline.answers.wick import WickAnswer
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import visible

NOTHING = (
    "No test burn, flaw or sale of a candle is logged yet: burns.csv, batches.csv and sales.csv teach which wick, "
    "what to change and what sells."
)
_NAMED = 3
"""So many kinds are named in a sentence; the table has the rest."""


def wicks(found: Sequence[WickAnswer], units: Units) -> str:
    """Which kinds have their wick settled by tests, and what is to be tested next."""
    settled = [a for a in found if a.choice.choice and a.choice.next_test is None and not a.off_the_end]
    told = _list([f"{visible(a.choice.choice)} for {visible(a.kind.candle)}" for a in settled])
    ahead = next((a for a in found if a.choice.next_test), None)
    following = (
        f"Next worth a test: {visible(ahead.choice.next_test)} in {visible(ahead.kind.candle)}." if ahead else ""
    )
    start = f"Burn tests settle the wick of {len(settled)} of {units.plural(len(found), 'kind')}"
    return f"{start}{f': {told}' if settled else ''}. {following}".rstrip()


def burning(found: Sequence[WickAnswer], units: Units) -> str:
    """How long the kinds with tests burn."""
    told = [f"{visible(a.kind.candle)} about {units.number(a.time_h.mid)} h" for a in found if a.time_h.mid is not None]
    return f"By the mass that test burns took, a candle lasts: {_list(told)}."


def flaws(found: FlawsAnswer, units: Units) -> str:
    """How often something went wrong, what most, and whether a cause stands out."""
    pours = units.plural(found.poured, "pour")
    faults = [f for f in found.flaws if f.flaw != NO_FAULT]
    if not faults:
        return f"No flaw is logged in {pours}."
    most = _list([f"{f.flaw} ({units.number(f.batches)})" for f in faults])
    start = f"What went wrong in {pours}: {most}"
    sure = [f"{f.flaw} goes with “{f.evidence.factor}”" for f in found.confirmed if f.evidence]
    return f"{start}. {'By your own record ' + _list(sure) if sure else 'No cause stands out from chance in your own record'}."


def market(found: MarketAnswer, units: Units) -> str:
    """What a market day asks for of the kinds that sell most."""
    selling = sorted((k for k in found.kinds if k.sold), key=lambda k: -(k.mean or 0))
    if not selling:
        return "Nothing was sold yet: what a market day asks for comes from sales.csv."
    return f"One market day asks most for {_list([_asks(k, units) for k in selling[:_NAMED]])}."


def _asks(k: Selling, units: Units) -> str:
    where = f" at {visible(k.place)}" if k.place else ""
    return f"{visible(k.candle)}{where} ({units.count(k.low)} to {units.count(k.high)})"


def _list(parts: Sequence[str]) -> str:
    more = f" and {len(parts) - _NAMED} more" if len(parts) > _NAMED else ""
    return ", ".join(parts[:_NAMED]) + more
