"""What sells on a market day, what to take and to make, and what sales brought, in words."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest
from operator import attrgetter

from pipeline.answers.market import Earned, MarketAnswer, Selling
from pipeline.wording.amounts import RANGE, Units
from pipeline.wording.plan_sentences import unpriced as unpriced_materials
from pipeline.wording.visible_text import DASH, visible

_NARROW = 18
"""Letters that a name may take in a table of 80 columns."""


def answer(found: MarketAnswer, units: Units) -> str:
    """The whole answer for a terminal."""
    if not any(k.market_days for k in found.kinds):
        return "No sales yet: what a market day asks for comes from sales.csv."
    notes = "\n".join(textwrap.fill(n, 80, subsequent_indent="  ") for n in _notes(found, units))
    return "\n\n".join(filter(None, [_table(found), notes, *_money(found, units)]))


def _table(found: MarketAnswer) -> str:
    out = "out" if any(k.sold_out_days for k in found.kinds) else ""
    head = f"{'candle':<{_NARROW}} {'place':<{_NARROW}} days sold {out:>3}   one day   take  shelf   make"
    split = _told_apart(found)
    shown = [k for k in found.kinds if k.market_days and (k.sold or k.candle not in split)]
    return "\n".join([head, *(_row(k, found.few) for k in shown)])


def _told_apart(found: MarketAnswer) -> set[str]:
    """The kinds that have a row for each of several places."""
    rows = Counter(k.candle for k in found.kinds)
    return {candle for candle, n in rows.items() if n > 1}


def _row(k: Selling, few: int) -> str:
    days = f"{k.market_days:>3}{'*' if k.market_days < few else ' '} {k.sold:>4} {k.sold_out_days or '':>3}"
    span = f"{k.low} to {k.high}"
    figures = f"{days} {span:>9} {k.take:>6} {k.on_shelf:>6} {k.make:>6}"
    return _named([k.candle, k.place], _NARROW, figures)


def _named(names: Sequence[str | None], width: int, figures: str) -> str:
    """Names and the figures behind them; a name that is too long goes on in the lines below, as two may begin alike."""
    parts = [textwrap.wrap("" if name is None else visible(name), width) or [""] for name in names]
    (first, *more) = [" ".join(f"{part:<{width}}" for part in line) for line in zip_longest(*parts, fillvalue="")]
    return "\n".join([f"{first} {figures}", *map(str.rstrip, more)])


def _notes(found: MarketAnswer, units: Units) -> Iterator[str]:
    yield f"take: enough for one day {units.with_chance(found.sure)}; one day: what it asks for, {RANGE}"
    yield f"make: the same for {units.plural(found.days, 'market day')}, less the shelf; candles keep, so a rest can wait"
    known = [k for k in found.kinds if k.market_days]
    if any(k.sold_out_days for k in known):
        yield "out: days on which the last one went: they asked for at least what was sold"
    if any(k.market_days < found.few for k in known):
        yield f"* little to go by: under {found.few} market days"
    if _told_apart(found):
        yield "kinds whose places differ by more than chance stand place by place, where any was sold"
    never = [visible(k.candle) for k in found.kinds if not k.market_days]
    if never:
        yield f"never on offer: {', '.join(never)}"


def _money(found: MarketAnswer, units: Units) -> list[str]:
    """Sales by place, by month, and by kind with what it earned."""
    if not found.earned:
        return []
    tables = [_brought(f"by {what}", found.earned, what, units) for what in ("place", "month", "candle")]
    notes = unpriced_materials(found.uncosted)
    unpriced = sum(e.unpriced for e in found.earned)
    notes += [f"{units.plural(unpriced, 'candle')} sold without a price: counted as 0"] if unpriced else []
    return [*tables, "\n".join(f"note: {n}" for n in notes)]


def _brought(title: str, earned: Sequence[Earned], what: str, units: Units) -> str:
    lines = [f"{'sales ' + title:<{2 * _NARROW}} {'sold':>6} {units.currency + ' in':>11} {'cost':>11} {'left':>11}"]
    for name, rows in grouped(earned, what):
        income, cost = sum(e.income for e in rows), total_cost(rows)
        left = None if cost is None else income - cost
        money = " ".join(f"{DASH if x is None else units.money(x):>11}" for x in (income, cost, left))
        text = "no place logged" if name is None else visible(name)
        lines.append(_named([text], 2 * _NARROW, f"{sum(e.count for e in rows):>6} {money}"))
    return "\n".join(lines)


def grouped(earned: Sequence[Earned], what: str) -> list[tuple[str | None, list[Earned]]]:
    """The rows by place, month or candle; months in order, the others by money, most first."""
    groups: dict[str | None, list[Earned]] = {}
    for e in earned:
        groups.setdefault(attrgetter(what)(e), []).append(e)
    if what == "month":
        return sorted(groups.items(), key=lambda g: g[0] or "")
    return sorted(groups.items(), key=lambda g: (-sum(e.income for e in g[1]), g[0] or ""))


def total_cost(rows: Iterable[Earned]) -> float | None:
    """What the candles of these rows cost; None where that of one is not known."""
    costs = [e.cost for e in rows]
    return None if any(c is None for c in costs) else sum(c or 0.0 for c in costs)
