"""How many candles will the wax make, and is the market covered? Capacity, the plan with its fan, how forecasts did."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import partial
from typing import TypeVar

from pipeline.analyses.backtest import Backtest
from pipeline.analyses.batch_plan import BatchForecast, Plan
from pipeline.analyses.candle_capacity import Capacity
from pipeline.analyses.remedies import Mends, Render
from pipeline.answers.backtest import backtest
from pipeline.answers.capacity import Capacities, capacity
from pipeline.answers.plan import PlanAnswer, plan
from pipeline.answers.wax_to_come import wax_to_come
from pipeline.flow import Loaded
from pipeline.report.charts_plan import Reach, Told, reach, told
from pipeline.report.charts_stock import Ahead, Mark, fan
from pipeline.report.page_data import Column, Drawing, Panel, Picture, Section, Table
from pipeline.report.page_queries import ask, shown
from pipeline.wording import plan_sentences, season_sentences
from pipeline.wording.amounts import Units, count, plural, share, share_cell
from pipeline.wording.visible_text import visible

Way = TypeVar("Way")

LISTED = 12
BEHIND = timedelta(days=120)
"""How far back the fan shows the shelf: the last third of a year."""

FORECAST = (
    "Wax from comb not yet rendered comes from a Bayesian line on logit yield by kind and method, drawn to published ranges "
    "where the book has few sessions (conjugate normal model; ten thousand joint draws from a fixed seed)."
)
COMING = (("wax", "wax on hand; dashed: the middle of the forecast"), ("chance", "four times in five inside"),
          ("candle", "batch covered by the wax in hand"), ("alarm", "diamond: not covered"))  # fmt: skip


def section(loaded: Loaded, units: Units) -> Section:
    """The section on candles and the plan."""
    coming = wax_to_come(loaded)
    planned, makes = plan(loaded, coming=coming), capacity(loaded, coming)
    panels = (
        _plan_panel(loaded, planned, units),
        _capacity_panel(makes, planned.plan, units),
        _backtest_panel(backtest(loaded)),
    )
    return Section("candles-plan", "How many candles, and is the market covered?", tuple(p for p in panels if p))


def _capacity_panel(found: Capacities, planned: Plan, units: Units) -> Panel:
    kinds = [c for c in found.rows if c.now is not None]
    first = _asked_most(planned, kinds)
    sentence = plan_sentences.capacity(
        (visible(first.candle), first.now or 0, first.low or 0, first.high or 0) if first else None
    )
    if not kinds:
        return Panel("capacity", sentence)
    drawn = [Reach(c.candle, c.now or 0, c.low or 0, c.mid or 0, c.high or 0) for c in kinds[:LISTED]]
    says = "; ".join(
        f"{visible(k.candle)}: {count(k.now)} now, {count(k.low)} to {count(k.high)} with what waits" for k in drawn
    )
    picture = Picture(
        "capacity", "Candles of each kind, if all the wax went into it", says + ".", partial(reach, drawn)
    )
    method = (
        "Wax in a candle = fill mass × wax share / (1 + scent share) / (1 − pour loss); fill mass as weighed, or by volume and "
        f"densities (volumes additive). {FORECAST} Costs count what the book prices; what has no price counts as 0."
    )
    missing = found.unpriced
    points = (f"No cost is given for {', '.join(map(visible, missing))}: it counts as 0.",) if missing else ()
    key = (("candle", "wax on hand"), ("chance", "with comb that waits, four times in five"), ("wax", "its middle"))
    return Panel(
        "capacity", sentence, picture, _capacity_table(kinds, units), points, method, key=key, about="capacity"
    )


def _asked_most(plan: Plan, kinds: Sequence[Capacity]) -> Capacity | None:
    """The kind that the plan asks most of; else the first."""
    planned: dict[str, int] = {}
    for b in plan.batches:
        planned[b.candle] = planned.get(b.candle, 0) + b.count
    return max(kinds, key=lambda c: planned.get(c.candle, 0), default=None)


def _capacity_table(kinds: Sequence[Capacity], units: Units) -> Table:
    money = visible(units.currency)
    figures = ("wax each, g", "now", "low", "middle", "high", f"cost each, {money}", f"margin each, {money}")
    heads = (Column("candle", figures=False), *map(Column, figures))
    rows = tuple(
        (visible(c.candle), count(c.wax_each_g), count(c.now), count(c.low), count(c.mid), count(c.high),
         units.money(c.cost_each), units.money(c.margin_each))
        for c in kinds[:LISTED]
    )  # fmt: skip
    more = f"and {plural(len(kinds) - LISTED, 'kind')} more: combtally capacity" if len(kinds) > LISTED else ""
    return Table("Candles, cost and margin", heads, rows, more)


def _plan_panel(loaded: Loaded, found: PlanAnswer, units: Units) -> Panel:
    plan = found.plan
    known = [b for b in plan.batches if b.covered is not None]
    covered = sum((b.covered or 0) >= b.count for b in known)
    short = (units.day(plan.short_on), units.mass(plan.short_g)) if plan.short_on else None
    chance = plan.chance_all if found.coming.lots else None
    sentence = plan_sentences.plan(len(known), covered, len(plan.batches) - len(known), short, chance)
    if not plan.batches:
        return Panel("plan", sentence)
    at_once = _at_once_g(found)
    step = (plan_sentences.at_once(at_once, units.day(loaded.today), units),) if at_once > 0 else ()
    points = (*_mending(found.mends, units), *step, *(season_sentences.sentence(visible(n)) for n in plan.notes[:4]))
    table = _plan_table(plan.batches, units)
    method = (
        "The shelf is walked forward day by day, receipts before pours. Covered counts the wax in hand alone; the chance counts "
        f"pending wax too, all draws joint. {FORECAST} The shelf itself is off by what its scale and its "
        "counts leave open, so no chance is ever certain."
    )
    if not plan.on_hand:
        return Panel("plan", sentence, None, table, points, method, about="the plan")
    picture = Picture(
        "plan",
        f"Wax on hand and planned batches, {units.mass_unit}",
        _plan_says(plan, units),
        _fan(loaded, found, units),
    )
    return Panel("plan", sentence, picture, table, points, method, shown("stock_days"), key=COMING, about="the plan")


def _at_once_g(found: PlanAnswer) -> float:
    """Wax that waits without a day, g: the sum of the lots' middles."""
    return sum(lot.mid_g for lot in found.coming.lots if lot.lot.ready is None)


def _fan(loaded: Loaded, found: PlanAnswer, units: Units) -> Callable[[], Drawing]:
    plan, today, wax_g = found.plan, loaded.today, found.wax_g
    days = [(r["date"], r["total_g"]) for r in ask(loaded.warehouse, "stock_days")]
    past = [d for d in days if d[0] >= today - BEHIND] or days[-1:]
    past = [*past, (today, wax_g)]
    ahead = [Ahead(today, wax_g, wax_g, wax_g)]
    ahead += [Ahead(o.date, o.low_g, o.mid_g, o.high_g) for o in plan.on_hand]
    level = {o.date: o.mid_g for o in plan.on_hand}
    marks = [
        Mark(b.date, b.batch, (b.covered or 0) >= b.count, level.get(b.date, 0.0)) for b in plan.batches if b.wax_g
    ]
    return partial(fan, past, ahead, _one_a_day(marks)[:LISTED], _at_once_g(found), units)


def _one_a_day(marks: Sequence[Mark]) -> list[Mark]:
    """Batches of one day as one mark, which is covered only when all are."""
    days: dict[date, list[Mark]] = {}
    for m in marks:
        days.setdefault(m.day, []).append(m)
    return [
        Mark(
            day,
            ms[0].name if len(ms) == 1 else plural(len(ms), "batch", "batches"),
            all(m.covered for m in ms),
            ms[-1].mass_g,
        )
        for day, ms in days.items()
    ]


def _plan_says(plan: Plan, units: Units) -> str:
    last = plan.on_hand[-1]
    start = f"Fan of wax on hand up to {units.day(last.date)}: middle {units.mass(last.mid_g)}, "
    start += f"from {units.mass(last.low_g)} to {units.mass(last.high_g)}. Batches: "
    told_of = (
        f"{visible(b.batch)} on {units.day(b.date)}, {count(b.covered)} of {b.count} covered"
        for b in plan.batches[:LISTED]
    )
    return start + "; ".join(told_of) + "."


def _plan_table(batches: Sequence[BatchForecast], units: Units) -> Table:
    named = (Column("batch", figures=False), Column("due", figures=False), Column("candle", figures=False))
    heads = (*named, Column("count"), Column(units.head("wax")), Column("covered"), Column("chance, %"))
    rows = tuple(
        (visible(b.batch), units.day(b.date), visible(b.candle), count(b.count), units.mass_cell(b.wax_g), count(b.covered),
         units.chance_cell(b.chance))
        for b in batches[:LISTED]
    )  # fmt: skip
    more = (
        f"and {plural(len(batches) - LISTED, 'batch', 'batches')} more: combtally plan" if len(batches) > LISTED else ""
    )
    return Table("Planned batches", heads, rows, more)


def _mending(ways: Mends, units: Units) -> tuple[str, ...]:
    """What would mend a plan that falls short, one sentence each way."""
    fewer = [f"make {count(c.fewer)} fewer of {visible(c.batch)}" for c in ways.fewer[:4]]
    render = [_rendering(r, units) for r in _ends(ways.render)]
    buy = [f"{units.mass(b.wax_g)} of wax by {units.day(b.by)}" for b in _ends(ways.buy)]
    told_of = [", ".join(fewer), "; then ".join(filter(None, render)), f"buy {', in all '.join(buy)}" if buy else ""]
    return tuple(f"{'To mend it: ' if n == 0 else 'Or: '}{way}." for n, way in enumerate(filter(None, told_of)))


def _ends(ways: Sequence[Way]) -> list[Way]:
    """The first and the last of ways that add up from day to day."""
    return [*ways[:1], *ways[1:][-1:]]


def _rendering(way: Render, units: Units) -> str:
    masses = [f"{units.mass(way.comb_g)} of comb"] if way.comb_g else []
    masses += [f"{units.mass(way.set_aside_g)} of wax set aside"] if way.set_aside_g else []
    enough = "" if way.enough else ", which may not be enough"
    return f"melt {' and '.join(masses)} by {units.day(way.by)}{enough}" if masses else ""


def _backtest_panel(test: Backtest) -> Panel:
    sentence = plan_sentences.backtest(test.n, test.inside, test.level, test.low, test.high)
    if not test.sessions:
        return Panel("backtest", sentence)
    latest = test.sessions[-LISTED:]
    drawn = [Told(s.session, s.low, s.mid, s.high, s.came) for s in latest]
    says = "; ".join(
        f"{visible(s.session)}: forecast {share(s.low)} to {share(s.high)}, came {share(s.came)}" for s in latest
    )
    picture = Picture(
        "backtest", "What was forecast and what came, the latest sessions", says + ".", partial(told, drawn)
    )
    figures = map(Column, ("from, %", "to, %", "came, %"))
    heads = (Column("session", figures=False), Column("comb", figures=False), *figures, Column("inside", figures=False))
    rows = tuple(
        (
            visible(s.session),
            visible(s.comb),
            share_cell(s.low),
            share_cell(s.high),
            share_cell(s.came),
            "yes" if s.inside else "no",
        )
        for s in latest
    )
    method = (
        "Each session is forecast from those before it only; of all forecasts together the share inside the range is given "
        f"its exact confidence interval (Clopper–Pearson: {share_cell(test.low, 0)} to {share_cell(test.high, 0)} %)."
        if test.low is not None
        else "Each session is forecast from those before it only."
    )
    score = "" if test.score is None else (
        f" Interval score {test.score:.3f} against {test.score_pooled:.3f} of the pooled ratio (less is better)."
        if test.score_pooled is not None else ""
    )  # fmt: skip
    key = (("chance", "forecast, four times in five"), ("wax", "came"), ("alarm", "diamond: came outside"))
    return Panel(
        "backtest",
        sentence,
        picture,
        Table("Forecasts and outcomes", heads, rows),
        method=method + score,
        key=key,
        about="backtest",
    )
