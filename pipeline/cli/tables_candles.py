"""How the figures that look ahead are shown to people."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import asdict

from pipeline.analyses.backtest import Backtest
from pipeline.analyses.remedies import Render
from pipeline.answers.capacity import Capacities
from pipeline.answers.mix import MixAnswer
from pipeline.answers.plan import PlanAnswer
from pipeline.book.book_folder import Book, Show
from pipeline.cli.tables import Head, drawn, mass, weight
from pipeline.wording.amounts import Units


def _said(parts: Iterable[str]) -> str:
    return "\n\n".join(p for p in parts if p)


def _notes(notes: Iterable[str]) -> str:
    return "\n".join(textwrap.fill(f"note: {n}", 80, subsequent_indent="  ") for n in notes)


_CAPACITY = [
    Head("candle", "candle"), Head("wax", "wax each g", "number"), Head("now", "now", "number"),
    Head("low", "low", "number"), Head("mid", "mid", "number"), Head("high", "high", "number"),
    Head("cost", "cost", "number"), Head("margin", "margin", "number"),
]  # fmt: skip


def capacity(found: Capacities, book: Book) -> str:
    """How many of each kind, each row for all the wax, with cost and margin of one."""
    rows = [
        asdict(c) | {"cost": _money(c.cost_each), "margin": _money(c.margin_each), "wax": _grams(c.wax_each_g)}
        for c in found.rows
    ]
    show, coming = book.show, found.coming.total()
    wax = (
        f"wax on hand {weight(found.wax_g, show)}; to come {mass(coming.low, show)} to {weight(coming.high, show)} "
        "(8 cases of 10)\nlow, mid, high: wax to come at 10, 50 and 90 %; each row is for all the wax\n"
        f"cost and margin of one in {book.currency}"
    )
    said = [f"{c.candle}: {c.note}" for c in found.rows if c.note]
    return _said([wax, drawn(rows, _CAPACITY, show), _notes([*found.coming.notes, *_unpaid(found.unpriced), *said])])


def _unpaid(missing: tuple[str, ...]) -> list[str]:
    return [f"no cost given for {', '.join(missing)}: counted as 0"] if missing else []


def _money(value: float | None) -> str | None:
    return None if value is None else f"{value:.2f}"


def _grams(value: float | None) -> str | None:
    return None if value is None else f"{value:.1f}"


_PLAN = [
    Head("date", "due"), Head("batch", "batch"), Head("candle", "candle"), Head("count", "count", "number"),
    Head("wax_g", "wax", "mass"), Head("covered", "covered", "number"), Head("chance", "chance %", "number"),
    Head("made", "made", "number"),
]  # fmt: skip
_COVERED = """covered: by the wax in hand; chance: that all of it is, with the wax to come
made: candles of that kind on the shelf already"""


def plan(found: PlanAnswer, show: Show) -> str:
    """The batches with their chances, the first short day, the mends."""
    told = found.plan
    hand = [asdict(p) for p in told.on_hand]
    days = [Head("date", "end of day"), *(Head(f"{p}_g", p, "mass") for p in ("low", "mid", "high"))]
    notes = [*told.notes, *(f"{b.batch} {b.note}" for b in told.batches if b.note)]
    return _said([
        drawn(_batches(found), _PLAN, show), _COVERED if told.batches else "", _short(found, show),
        drawn(hand, days, show, "wax on hand"), _notes(notes),
    ])  # fmt: skip


def _batches(found: PlanAnswer) -> list[dict[str, object]]:
    return [
        asdict(b)
        | {
            "chance": None if b.chance is None else Units().chance_cell(b.chance),
            "made": found.on_shelf.get(b.candle, 0),
        }
        for b in found.plan.batches
    ]


def _short(found: PlanAnswer, show: Show) -> str:
    """The first short day, then the three ways to mend the plan, each enough by itself."""
    told, ways = found.plan, found.mends
    if told.short_on is None:
        return "the wax in hand covers the plan" if told.batches else ""
    cuts = ", ".join(f"{c.fewer} fewer of {c.batch} ({c.candle})" for c in ways.fewer)
    lines = [
        f"first short on {told.short_on}, by {weight(told.short_g, show)}; one of three would mend the plan:",
        textwrap.fill(f"1. make {cuts}", 80, subsequent_indent="   "),
        "2. melt what waits, counted from today (enough in 9 cases of 10):",
        *([_melted(r, show) for r in ways.render] or ["   there is nothing that waits to be melted"]),
        "3. buy wax, counted from today:",
        *(f"   {weight(b.wax_g, show)} by {b.by}" for b in ways.buy),
    ]
    return "\n".join(lines)


def _melted(r: Render, show: Show) -> str:
    parts = [f"{weight(r.set_aside_g, show)} of wax set aside"] if r.set_aside_g else []
    parts += [f"{weight(r.comb_g, show)} of comb"] if r.comb_g else []
    sure = "" if r.enough else " (all there is; it may not be enough)"
    text = f"   {' and '.join(parts)} by {r.by}{sure}"
    return textwrap.fill(text, 80, subsequent_indent="     ", drop_whitespace=True)


def mix(found: MixAnswer, book: Book) -> str:
    """The mix for people."""
    show, chosen, aim = book.show, found.mix, found.aim
    rows = [{"candle": c.candle, "count": c.count, "wax_g": c.count * found.each_g[c.candle]} for c in chosen.candles]
    heads = [Head("candle", "candle"), Head("count", "count", "number"), Head("wax_g", "wax", "mass")]
    worth = f"{chosen.value:.0f} candles" if aim == "count" else f"{aim} {chosen.value:,.2f} {book.currency}"
    total = f"{worth}, of {weight(chosen.wax_g, show)} of {weight(found.wax_available_g, show)} of wax"
    notes = [f"no price for {', '.join(found.without_price)}: worth nothing here"] if found.without_price else []
    notes += _unpaid(found.unpriced)
    left_out = found.without_wax
    notes += [f"left out: {', '.join(left_out)}, which take no wax or whose wax is not known"] if left_out else []
    limited = [f"{k} {n}" for k, n in found.asked_for.items() if found.each_g.get(k)]
    said = "no more than a year of your market days may ask for, less the shelf (--max asks for more)"
    notes += [f"{said}: {', '.join(limited)}"] if limited else []
    notes += [] if chosen.proved else ["the solver ran out of time: a better mix may exist"]
    return _said([drawn(rows, heads, show), total, _notes(notes)])


def backtest(told: Backtest, show: Show) -> str:
    """Each session's forecast and what came, then the verdict."""
    rows = [asdict(h) | {"inside": "" if h.inside else "outside"} for h in told.sessions]
    heads = [
        Head("date", "date"), Head("session", "session"), Head("comb", "comb"), Head("low", "low", "share"),
        Head("mid", "mid", "share"), Head("high", "high", "share"), Head("came", "came", "share"), Head("inside", ""),
    ]  # fmt: skip
    verdict = told.verdict
    if told.low is not None and told.high is not None:
        verdict += f" (95 % limits of that count: {told.low:.0%} to {told.high:.0%})"
    score = ""
    if told.score is not None and told.score_pooled is not None:
        score = f"interval score {told.score:.3f}, of the pooled ratio {told.score_pooled:.3f} (smaller is better)"
    return _said([drawn(rows, heads, show), textwrap.fill(verdict, 80), score])
