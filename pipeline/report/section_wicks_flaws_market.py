"""What do the candles teach? Wicks by test, burning times, flaws with their causes, what sells and what it earned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import partial

from pipeline.analyses.burning_time import Spread
from pipeline.answers.flaws import FlawsAnswer, flaws
from pipeline.answers.market import MarketAnswer, Selling, market
from pipeline.answers.wick import WickAnswer, wicks
from pipeline.flow import Loaded
from pipeline.report.charts_wicks_flaws_market import Rung, Span, counts, ladder, spans
from pipeline.report.page_dataclasses import Panel, Picture, Section, Table, TableColumn
from pipeline.wording import flaw_sentences, market_sentences, wick_sentences, wicks_flaws_market_sentences
from pipeline.wording.amounts import RANGE, Units, count, plural
from pipeline.wording.cautions import BURNING, LOCAL, cautions
from pipeline.wording.visible_text import DASH, visible

HEADING = "What do the candles teach?"
LISTED = 10
"""Rows of a table: the commands list all."""
SIGNS = (("unknown", "triangle: too small"), ("wax", "dot: right"), ("alarm", "diamond: too large"),
         ("faint", "cross: no verdict"), ("chance", "the choice"))  # fmt: skip


def section(loaded: Loaded, units: Units) -> Section:
    """The section on what burns, flaws and sales have shown."""
    burned = [a for a in wicks(loaded) if a.verdicts]
    wrong, sold = flaws(loaded), market(loaded)
    panels = [
        *((_wick_panel(burned, units),) if burned else ()),
        *((_burning_panel(timed, units),) if (timed := [a for a in burned if a.time_h.mid is not None]) else ()),
        *((_flaw_panel(wrong, units),) if wrong.flaws else ()),
        *((_market_panel(sold, units),) if any(k.sold for k in sold.kinds) else ()),
    ]
    return Section("making", HEADING, tuple(panels) or (Panel("making-none", wicks_flaws_market_sentences.NOTHING),))


def _wick_panel(found: Sequence[WickAnswer], units: Units) -> Panel:
    shown = found[:LISTED]
    tested = {v.burn.wick for a in shown for v in a.verdicts}
    logged = [w.wick for w in sorted(shown[0].wicks, key=lambda w: (w.family, w.rank)) if w.wick in tested]
    others = sorted(tested.difference(logged))  # burned, but not in the log that orders wicks
    drawn = partial(ladder, _rungs(shown), [*logged, *others], not others)
    says = "; ".join(f"{visible(a.kind.candle)}: {wick_sentences.choice(a, units).rstrip('.')}" for a in shown)
    picture = Picture("wicks", "What test burns said of each size of wick", f"{says}.", drawn)
    heads = (
        *(TableColumn(h, figures=False) for h in ("candle", "by chart", "burns", "choice")),
        TableColumn("right, %"),
        TableColumn("next test", figures=False),
    )
    rows = tuple(_wick_row(a, units) for a in shown)
    notes = [n for a in shown for n in wick_sentences.notes_for(a, units)]
    points = (*(_said(n) for n in notes[:2]), " ".join([LOCAL, *cautions(BURNING, units)]))
    method = (
        "A burn says too small, right or too large by the form of the candle: pool against diameter after the usual hours, "
        "soot, flame, drips, how it went out. The chances are exact Bayes over the ordered sizes of a family, 10 % of burns "
        "read wrongly; too small holds for wider candles too, too large for narrower ones of the same wax."
    )
    more = f"and {plural(len(found) - LISTED, 'kind')} more: combtally wick" if len(found) > LISTED else ""
    return Panel(
        "wicks",
        wicks_flaws_market_sentences.wicks(found, units),
        picture,
        Table("Wick tests", heads, rows, more),
        points,
        method,
        key=SIGNS,
        about="wick tests",
    )


def _said(note: str) -> str:
    return f"{note[:1].upper()}{note[1:]}."


def _rungs(found: Sequence[WickAnswer]) -> list[Rung]:
    rungs = []
    for a in found:
        told = Counter((v.burn.wick, str(v.reading.says)) for v in a.verdicts)
        rungs += [Rung(a.kind.candle, wick, says, n, wick == a.choice.choice) for (wick, says), n in told.items()]
    return rungs


def _wick_row(a: WickAnswer, units: Units) -> tuple[str, ...]:
    chance = next((c.chance for c in a.choice.chances if c.wick == a.choice.choice), None)
    charted = ", ".join(map(visible, a.chart)) or DASH
    names = (
        visible(a.choice.choice) if a.choice.choice else DASH,
        visible(a.choice.next_test) if a.choice.next_test else "none",
    )
    return (visible(a.kind.candle), charted, count(len(a.verdicts)), names[0], units.chance_cell(chance), names[1])


def _burning_panel(found: Sequence[WickAnswer], units: Units) -> Panel:
    shown = found[:LISTED]
    drawn = [Span(a.kind.candle, a.time_h.low, a.time_h.mid or 0.0, a.time_h.high, count(a.time_h.mid)) for a in shown]
    says = "; ".join(f"{visible(a.kind.candle)} {_range(a.time_h, units, 0)} h" for a in shown)
    picture = Picture(
        "burning", "How long one candle burns, hours", f"{says}.", partial(spans, drawn, "hours", "candle")
    )
    heads = (
        TableColumn("candle", figures=False),
        TableColumn(f"{units.small_unit} an hour"),
        TableColumn("hours"),
        TableColumn("from"),
        TableColumn("to"),
    )
    rows = tuple(
        (
            visible(a.kind.candle),
            _figure(wick_sentences.rate(a, units).mid, units, wick_sentences.rate_decimals(units)),
            *(_figure(h, units, 0) for h in (a.time_h.mid, a.time_h.low, a.time_h.high)),
        )
        for a in shown
    )
    method = (
        "How much burns in an hour follows from the mass before and after each burn of the chosen wick, a ratio of sums for "
        "each test candle; the range is Student's, over test candles, and needs two. Burning time = fill mass / that."
    )
    key = (("candle", "one candle"), ("chance", f"{RANGE}, where two or more were tested"))
    return Panel(
        "burning",
        wicks_flaws_market_sentences.burning(found, units),
        picture,
        Table("Burning", heads, rows),
        (),
        method,
        key=key,
        about="burning times",
    )


def _range(spread: Spread, units: Units, decimals: int) -> str:
    low, mid, high = (_figure(x, units, decimals) for x in (spread.low, spread.mid, spread.high))
    return mid if DASH in (low, high) or low == high else f"{low} to {high}"


def _figure(value: float | None, units: Units, decimals: int) -> str:
    return DASH if value is None else units.number(value, decimals)


def _flaw_panel(found: FlawsAnswer, units: Units) -> Panel:
    drawn = [(f.flaw, f.batches) for f in found.flaws]
    says = "; ".join(f"{name} in {plural(n, 'batch', 'batches')}" for name, n in drawn)
    picture = Picture(
        "flaws", "Poured batches with each flaw", f"{says}.", partial(counts, drawn, "poured batches", "work")
    )
    heads = (
        TableColumn("flaw", figures=False),
        *(TableColumn(h, figures=False, sentences=True) for h in ("likely cause", "what to change", "your own record")),
    )
    rows = tuple(
        (f.flaw, f.cause, f.change, flaw_sentences.evidence(f.evidence, found.level, units)) for f in found.flaws
    )
    method = (
        "Causes and cures are common practice, no source. Your record is asked by Fisher's exact test, each flaw against fixed "
        "cuts of temperature, vessel, wick and recipe with five pours or more on either side; each p is raised for all "
        "pairs tried (Holm)."
    )
    return Panel(
        "flaws",
        wicks_flaws_market_sentences.flaws(found, units),
        picture,
        Table("Flaws", heads, rows),
        (),
        method,
        about="flaws",
    )


def _market_panel(found: MarketAnswer, units: Units) -> Panel:
    selling = sorted((k for k in found.kinds if k.sold), key=lambda k: -(k.mean or 0))
    shown = selling[:LISTED]
    drawn = [Span(_where(k), k.low, k.mid or 0, k.high, f"{count(k.low)} to {count(k.high)}") for k in shown]
    says = "; ".join(f"{_where(k)} {count(k.low)} to {count(k.high)}" for k in shown)
    picture = Picture(
        "market", "What one market day asks for", f"{says}.", partial(spans, drawn, "candles on one day", "candle")
    )
    figures = ("days", "sold", "sold out", "mean", "from", "to", "on shelf")
    heads = (TableColumn("candle and place", figures=False), *map(TableColumn, figures))
    rows = tuple(_market_row(k, found.few, units) for k in shown)
    few = f"* Little to go by: under {found.few} market days." if any(k.market_days < found.few for k in shown) else ""
    out = "On a day that sold out at least so many were asked for." if any(k.sold_out_days for k in shown) else ""
    left = f"And {plural(len(selling) - LISTED, 'row')} more: combtally market." if len(selling) > LISTED else ""
    method = (
        "Sales on a market day follow a negative binomial whose mean and spread are learned from the days on which the kind was "
        "on offer; a day that sold out counts as at least what was sold. Places stand apart where the sales speak for it by 3 "
        f"to 1. What to take is enough {units.with_chance(found.sure)}."
        " Candles keep, so that what is left waits for the next."
    )
    key = (("candle", "the middle"), ("chance", RANGE))
    table = Table("On a market day", heads, rows, " ".join(filter(None, (few, out, left))))
    money = tuple(_money(found, what, units) for what in ("place", "month", "candle"))
    return Panel(
        "market",
        wicks_flaws_market_sentences.market(found, units),
        picture,
        table,
        (),
        method,
        extra=money,
        key=key,
        about="market days",
    )


def _where(k: Selling) -> str:
    return f"{visible(k.candle)}, {visible(k.place)}" if k.place else visible(k.candle)


def _market_row(k: Selling, few: int, units: Units) -> tuple[str, ...]:
    days = f"{count(k.market_days)}{'*' if k.market_days < few else ''}"
    figures = (k.sold, k.sold_out_days)
    return (
        _where(k),
        days,
        *map(count, figures),
        _figure(k.mean, units, 1),
        *map(count, (k.low, k.high, k.on_shelf)),
    )


def _money(found: MarketAnswer, what: str, units: Units) -> Table:
    """Sales by place, month or kind: how many, money in, what they cost, what is left."""
    money = visible(units.currency)
    heads = (
        TableColumn(what, figures=False),
        TableColumn("sold"),
        TableColumn(f"in, {money}"),
        TableColumn(f"cost, {money}"),
        TableColumn(f"left, {money}"),
    )
    rows = []
    for name, group in market_sentences.grouped(found.earned, what)[:LISTED]:
        income, cost = sum(e.income for e in group), market_sentences.total_cost(group)
        left = None if cost is None else income - cost
        told = "not logged" if name is None else visible(name)
        rows.append(
            (told, count(sum(e.count for e in group)), units.money(income), units.money(cost), units.money(left))
        )
    return Table(f"Sales by {what}", heads, tuple(rows))
