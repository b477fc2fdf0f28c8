"""The sentences on what is to come: how many candles, whether the plan is covered, how forecasts did.

A chance and a range are said in one way: per cent, as :class:`Units` writes them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.analyses.backtest import ENOUGH, Backtest
from pipeline.analyses.batch_plan import BatchForecast
from pipeline.analyses.candle_capacity import Capacity
from pipeline.analyses.pending_wax import Pending
from pipeline.analyses.shortage_remedies import Mends, Render
from pipeline.answers.mix import MixAnswer
from pipeline.answers.plan import PlanAnswer
from pipeline.contract.outcome_range import HIGH
from pipeline.wording.amounts import PLAIN, RANGE, Units
from pipeline.wording.visible_text import listed, visible

AHEAD = f"wax ahead, as the plan is poured (a forecast, {RANGE})"
CAPACITY_COLUMNS = (
    f"now: of the wax on hand; low to high: with the wax still to come, {RANGE}\n"
    "each row is for all the wax, as if nothing else were made"
)
MELTED = "*: if what waits is melted by that day"
PLAN_COLUMNS = (
    "covered: by the wax on hand; chance: of the whole batch, with the wax to come\n"
    f"{MELTED}\nmade: candles of that kind on the shelf already"
)


def chance_cell(batch: BatchForecast, units: Units) -> str:
    """A batch's chance for a column in per cent, marked where it hangs on comb or wax being melted in time."""
    return units.chance_cell(batch.chance) + ("*" if batch.melted_in_time and batch.chance is not None else "")


def wax_there(wax_g: float, coming: Pending, units: Units) -> str:
    """The wax on hand and the range of what is to come."""
    total = coming.total()
    start = f"Wax on hand: {units.mass(wax_g)}; still to come: "
    return (
        f"{start}{units.about(total.low)} to {units.about(total.high)} ({RANGE})." if coming.lots else f"{start}none."
    )


def capacity(first: Capacity | None, units: Units) -> str:
    """How many candles: the kind most often planned, or the first."""
    if first is None:
        return "No kind of candle has a size and a recipe yet: record a candle and its blend to see how many the wax makes."
    start = f"Made into {visible(first.candle)} alone, the wax on hand gives {units.count(first.now)}"
    if (first.high or 0) <= (first.now or 0):
        return f"{start}; no comb waits that would add to it."
    return f"{start}; with the comb that waits, {units.count(first.low)} to {units.count(first.high)} ({RANGE})."


def unpriced(missing: Sequence[str]) -> list[str]:
    """What has no cost in book.toml."""
    return (
        [f"no cost is given under [costs] in book.toml for {listed(tuple(map(visible, missing)))}: counted as 0"]
        if missing
        else []
    )


def plan(found: PlanAnswer, units: Units) -> str:
    """Whether the planned batches are covered, and if not the first day short and by how much."""
    batches = found.plan.batches
    known = [b for b in batches if b.covered is not None]
    unknown = len(batches) - len(known)
    if not batches:
        return "No batch is planned from today on: record planned batches to see whether the wax covers them."
    left_open = units.plural(unknown, "planned batch", "planned batches")
    cannot = f"{left_open} of a candle without size or recipe: its wax is not known"
    if not known:
        return f"{cannot}."
    rest = f"; {cannot}" if unknown else ""
    covered = sum((b.covered or 0) >= b.count for b in known)
    if covered == len(known):
        return f"The wax on hand covers {_all(len(known), units)}{rest}."
    start = f"{_covers(covered, len(known), units)}{_short(found, len(known), units)}"
    return f"{start}{rest}{_chance(found, len(known), unknown, units)}."


def _covers(covered: int, known: int, units: Units) -> str:
    if known == 1:
        return "The wax on hand does not cover the one planned batch"
    return f"The wax on hand covers {units.count(covered) if covered else 'none'} of {_planned(known, units)}"


def _short(found: PlanAnswer, known: int, units: Units) -> str:
    if found.plan.short_on is None:
        return ""
    runs = "runs" if known == 1 else "first runs"
    return f"; it {runs} short on {units.day(found.plan.short_on)}, by {units.mass(found.plan.short_g)}"


def _chance(found: PlanAnswer, known: int, unknown: int, units: Units) -> str:
    if found.plan.chance_all is None or unknown or not found.coming.lots:
        return ""
    them = "it" if known == 1 else "all of them"
    return f". If what waits is melted in time, the chance for {them} is {units.chance(found.plan.chance_all)}"


def _planned(batches: int, units: Units) -> str:
    return units.plural(batches, "planned batch", "planned batches")


def _all(batches: int, units: Units) -> str:
    return "the one planned batch" if batches == 1 else f"all {_planned(batches, units)}"


def ways(found: PlanAnswer, units: Units) -> Iterator[str]:
    """The first short day, then what would mend the plan, a line each; nothing where the wax on hand is enough."""
    told, mends = found.plan, found.mends
    if told.short_on is None:
        if told.batches:
            yield "The wax on hand covers the plan."
        return
    yield f"Short from {units.day(told.short_on)} on, by {units.mass(told.short_g)}. Any one of these would mend it:"
    cuts = [f"{units.number(c.fewer)} fewer of {visible(c.batch)} ({visible(c.candle)})" for c in mends.fewer]
    yield f"1. Make {', '.join(cuts)}."
    yield f"2. Melt what waits, counted from today (enough {units.with_chance(HIGH)}):"
    yield from (f"   {_melting(r, units)}" for r in mends.render)
    if not mends.render:
        yield "   there is nothing that waits to be melted"
    yield "3. Buy wax, counted from today:"
    yield from (f"   {units.mass(b.wax_g)} by {units.day(b.by)}" for b in mends.buy)


def _melting(way: Render, units: Units) -> str:
    masses = [f"{units.mass(way.set_aside_g)} of wax set aside"] if way.set_aside_g else []
    masses += [f"{units.mass(way.comb_g)} of comb"] if way.comb_g else []
    enough = "" if way.enough else " (all there is; it may not be enough)"
    return (
        f"{listed(masses)} by {units.day(way.by)}{enough}"
        if masses
        else f"nothing waits that is there by {units.day(way.by)}"
    )


FEW_WAYS = 4
"""More batches to cut than these are not listed in a sentence."""


def mending(ways: Mends, units: Units) -> tuple[str, ...]:
    """What would mend a plan that falls short, one sentence each way; of ways that add up, the first and the last."""
    cuts = [f"{units.number(c.fewer)} fewer of {visible(c.batch)}" for c in ways.fewer[:FEW_WAYS]]
    melts = [_melting(r, units) for r in (*ways.render[:1], *ways.render[1:][-1:])]
    buys = [f"{units.mass(b.wax_g)} of wax by {units.day(b.by)}" for b in (*ways.buy[:1], *ways.buy[1:][-1:])]
    told = [f"make {listed(cuts)}" if cuts else "", f"melt {'; then '.join(melts)}" if melts else "",
            f"buy {', in all '.join(buys)}" if buys else ""]  # fmt: skip
    return tuple(f"{'To mend it: ' if n == 0 else 'Or: '}{way}." for n, way in enumerate(filter(None, told)))


def at_once(wax_g: float, day: str, units: Units) -> str:
    """What the step at the fan's beginning is: wax that waits without a day on which it will be there."""
    return (
        f"The step up on {day} is about {units.about(wax_g)} of wax with no ready date: wax set aside, and comb whose harvest "
        "has none. It is counted as if it were there at once."
    )


def mix(found: MixAnswer, units: Units) -> str:
    """What the mix is worth, and how much of the wax it takes."""
    value = found.mix.value
    if found.aim == "count":
        start = f"These are {units.number(value)} candles and"
    else:
        price = units.price(value)
        brings = f"bring in {price}" if found.aim == "income" else f"leave {price} after their costs"
        start = f"These candles {brings} and"
    return f"{start} take {units.mass(found.mix.wax_g)} of the {units.mass(found.wax_available_g)} of wax."


def mix_notes(found: MixAnswer) -> list[str]:
    """What could not count in the mix, and why."""
    notes = [f"no price for {listed(found.without_price)}: worth nothing here"] if found.without_price else []
    notes += unpriced(found.unpriced)
    left = found.without_wax
    notes += (
        [
            f"left out: {listed(left)}, {'which takes' if len(left) == 1 else 'which take'} no wax or whose wax is not known"
        ]
        if left
        else []
    )
    limited = [f"{visible(kind)} {n}" for kind, n in found.asked_for.items() if found.each_g.get(kind)]
    asked = "no more than a year of your market days may ask for, less the shelf (--max asks for more)"
    notes += [f"{asked}: {listed(limited)}"] if limited else []
    return notes + ([] if found.mix.proved else ["the search ran out of time: a better mix may exist"])


def backtest(test: Backtest, units: Units) -> str:
    """How past forecasts did."""
    if not test.n:
        return "No session could be forecast from earlier ones yet."
    held = units.range_of(test.level)
    start = f"Of {units.plural(test.n, 'session')} forecast from those before, {units.count(test.inside)} fell inside"
    start += f" the {held}"
    if test.n == 1:
        start = f"The one session that could be forecast fell {'inside' if test.inside else 'outside'} the {held}"
    return f"{start}; {_judged(test)}."


def _judged(test: Backtest) -> str:
    """Whether the count inside the range agrees with what the range promises."""
    if test.n < ENOUGH or test.low is None or test.high is None:
        return "fewer than ten are too few to judge"
    if test.high < test.level:
        return "that is fewer than it promises: the ranges have been too narrow"
    if test.low > test.level:
        return "that is more than it promises: the ranges have been wider than needed"
    return "that fits"


def score(test: Backtest) -> str:
    """Whether the forecast did better than the plain yield of each kind so far."""
    if test.score is None or test.score_pooled is None:
        return ""
    return (
        f"Interval score {PLAIN.number(test.score, 3)}; the plain yield of each kind of comb so far scores "
        f"{PLAIN.number(test.score_pooled, 3)} (smaller is better)."
    )
