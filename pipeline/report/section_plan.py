"""How many candles will the wax make, and is the market covered? Capacity, the plan with its fan, how forecasts did."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import partial
from typing import TypeVar

from pipeline.analyses.backtest import Backtest
from pipeline.analyses.batch_plan import BatchForecast, Plan
from pipeline.analyses.candle_capacity import Capacity
from pipeline.answers.backtest import backtest
from pipeline.answers.capacity import Capacities, capacity
from pipeline.answers.plan import PlanAnswer, plan
from pipeline.answers.wax_to_come import wax_to_come
from pipeline.flow import Loaded
from pipeline.report.charts_plan import Reach, Told, reach, told
from pipeline.report.charts_stock import Mark, WaxAhead, fan
from pipeline.report.page_dataclasses import Drawing, Panel, Picture, Section, Table, TableColumn
from pipeline.report.page_queries import ask, shown
from pipeline.wording import forecast_doubt_sentences, plan_sentences, season_and_loss_sentences
from pipeline.wording.amounts import RANGE, Units, count, plural, share, share_cell
from pipeline.wording.visible_text import visible

Way = TypeVar("Way")

LISTED = 12
BEHIND = timedelta(days=120)
"""How far back the fan shows the shelf: the last third of a year."""

FORECAST = (
    "What waiting comb will give is judged from what the same kind of comb gave by the same method in this book, and from ranges "
    "that are judgements of published figures while the book has few sessions. It cannot see that this year’s comb is unlike "
    "the comb before."
)
DRAWN = " Method: normal model of the logit yield with conjugate priors, ten thousand joint draws from a fixed seed."
COMING = (("wax", "wax on hand so far; dashed: the middle of the forecast"), ("chance", f"{RANGE}"),
          ("candle", "batch covered by the wax on hand"), ("alarm", "diamond: not covered"))  # fmt: skip


def section(loaded: Loaded, units: Units) -> Section:
    """The section on candles and the plan."""
    coming = wax_to_come(loaded)
    planned, makes = plan(loaded, coming=coming), capacity(loaded, coming)
    panels = (
        _plan_panel(loaded, planned, units),
        _capacity_panel(makes, planned.plan, units),
        _backtest_panel(backtest(loaded), units),
    )
    return Section("candles-plan", "How many candles, and is the market covered?", tuple(p for p in panels if p))


def _capacity_panel(found: Capacities, planned: Plan, units: Units) -> Panel:
    kinds = [c for c in found.rows if c.now is not None]
    sentence = plan_sentences.capacity(_asked_most(planned, kinds), units)
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
        "The wax in a candle is what fills it, less oil and scent, plus what a pour loses on pots and "
        f"{units.spelled('moulds')}; the fill is what was weighed, else it follows from its volume and the densities in "
        "book.toml. Each kind is counted as if all the wax "
        f"went into it. {FORECAST} Costs count what book.toml prices; what has no price counts as 0.{DRAWN}"
    )
    points = tuple(map(season_and_loss_sentences.sentence, plan_sentences.unpriced(found.unpriced)))
    key = (
        ("candle", "wax on hand"),
        ("chance", f"with comb that waits, {RANGE}"),
        ("wax", "its middle"),
    )
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
    figures = (
        f"wax each, {units.small_unit}",
        "now",
        "low",
        "middle",
        "high",
        f"cost each, {money}",
        f"margin each, {money}",
    )
    heads = (TableColumn("candle", figures=False), *map(TableColumn, figures))
    rows = tuple(
        (visible(c.candle), units.mass_small_cell(c.wax_each_g), count(c.now), count(c.low), count(c.mid), count(c.high),
         units.money(c.cost_each), units.money(c.margin_each))
        for c in kinds[:LISTED]
    )  # fmt: skip
    more = f"and {plural(len(kinds) - LISTED, 'kind')} more: combtally capacity" if len(kinds) > LISTED else ""
    return Table("Candles, cost and margin", heads, rows, more)


def _plan_panel(loaded: Loaded, found: PlanAnswer, units: Units) -> Panel:
    plan = found.plan
    sentence = plan_sentences.plan(found, units)
    if not plan.batches:
        return Panel("plan", sentence)
    at_once = _at_once_g(found)
    step = (plan_sentences.at_once(at_once, units.day(loaded.today), units),) if at_once > 0 else ()
    points = (
        *plan_sentences.mending(found.mends, units),
        *step,
        *(season_and_loss_sentences.sentence(forecast_doubt_sentences.sentence(n, units)) for n in plan.notes[:4]),
    )
    table = _plan_table(plan.batches, units)
    method = (
        "The shelf is walked forward day by day, what comes in before what is poured. Covered counts the wax on hand alone; the "
        f"chance counts the wax still to come, too, and what scale and counts leave open of the shelf. {FORECAST} It cannot see "
        f"pours and sales that nobody has planned.{DRAWN}"
    )
    if not plan.on_hand:
        return Panel("plan", sentence, None, table, points, method, about="the plan")
    picture = Picture(
        "plan",
        f"Wax so far, and ahead as the plan is poured, {units.mass_unit}",
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
    ahead = [WaxAhead(today, wax_g, wax_g, wax_g)]
    ahead += [WaxAhead(o.date, o.low_g, o.mid_g, o.high_g) for o in plan.on_hand]
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
    start = (
        f"Forecast of the wax as the plan is poured, up to {units.day(last.date)}: middle {units.mass(last.mid_g)}, "
    )
    start += f"from {units.mass(last.low_g)} to {units.mass(last.high_g)}. Batches: "
    told_of = (
        f"{visible(b.batch)} on {units.day(b.date)}, {count(b.covered)} of {b.count} covered"
        for b in plan.batches[:LISTED]
    )
    return start + "; ".join(told_of) + "."


def _plan_table(batches: Sequence[BatchForecast], units: Units) -> Table:
    named = (
        TableColumn("batch", figures=False),
        TableColumn("due", figures=False),
        TableColumn("candle", figures=False),
    )
    heads = (
        *named,
        TableColumn("count"),
        TableColumn(units.head("wax")),
        TableColumn("covered"),
        TableColumn("chance, %"),
    )
    rows = tuple(
        (visible(b.batch), units.day(b.date), visible(b.candle), count(b.count), units.mass_cell(b.wax_g), count(b.covered),
         plan_sentences.chance_cell(b, units))
        for b in batches[:LISTED]
    )  # fmt: skip
    rest = len(batches) - LISTED
    told = [f"and {plural(rest, 'batch', 'batches')} more: combtally plan"] if rest > 0 else []
    told += [plan_sentences.MELTED] if any(b.melted_in_time for b in batches[:LISTED]) else []
    return Table("Planned batches", heads, rows, "; ".join(told))


def _backtest_panel(test: Backtest, units: Units) -> Panel:
    sentence = plan_sentences.backtest(test, units)
    if not test.sessions:
        return Panel("backtest", sentence)
    latest = test.sessions[-LISTED:]
    drawn = [Told(s.session, s.low, s.mid, s.high, s.came) for s in latest]
    says = "; ".join(
        f"{visible(s.session)}: forecast {share(s.low)} to {share(s.high)}, actual {share(s.came)}" for s in latest
    )
    picture = Picture("backtest", "Forecast and actual yield, the latest sessions", says + ".", partial(told, drawn))
    figures = map(TableColumn, ("from, %", "to, %", "actual, %"))
    heads = (
        TableColumn("session", figures=False),
        TableColumn("comb", figures=False),
        *figures,
        TableColumn("inside", figures=False),
    )
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
    limits = "" if test.low is None else f" ({units.share_cell(test.low, 0)} to {units.share(test.high, 0)})"
    method = (
        "Each session is forecast from those before it only, and compared with what it gave. If the ranges are honest, about "
        f"{units.share(test.level, 0)} of sessions fall inside; with so many sessions that count can differ by chance{limits}. "
        f"{plan_sentences.score(test)} It cannot tell how the next kind of comb will do. "
        "Method: Clopper–Pearson interval of the count, interval score of Gneiting and Raftery (2007)."
    )
    key = (("chance", f"forecast, {RANGE}"), ("wax", "actual"), ("alarm", "diamond: outside"))
    return Panel(
        "backtest",
        sentence,
        picture,
        Table("Forecasts and outcomes", heads, rows),
        method=method,
        key=key,
        about="backtest",
    )
