"""What sells on a market day, and so what to take and to make; what sales brought by place, month and kind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby
from typing import Any

from pipeline.analyses import market_demand
from pipeline.analyses.candle_cost import Costs
from pipeline.analyses.candle_ingredients import Candle
from pipeline.analyses.market_demand import Day
from pipeline.answers.candle_kinds import candle_kinds, costs
from pipeline.answers.candle_thresholds import thresholds
from pipeline.contract.outcome_range import HIGH, LOW, MID
from pipeline.database.connection import Warehouse
from pipeline.flow import Loaded

Row = dict[str, Any]
YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Selling:
    """One kind of candle on market days; ``place`` is named where places differ. None: it was never on offer.

    ``low``, ``mid``, ``high``: what one day asks for at 10, 50 and 90 %; ``sizes``: chances of how much days differ.
    """

    candle: str
    place: str | None
    market_days: int
    sold: int
    sold_out_days: int
    mean: float | None
    low: int | None
    mid: int | None
    high: int | None
    take: int | None
    on_shelf: int
    make: int | None
    sizes: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Earned:
    """Sales of a kind at a place in a month: money in, what the candles cost (None: not known) and what is left."""

    candle: str
    place: str | None
    month: str
    days: int
    count: int
    income: float
    unpriced: int
    cost: float | None

    @property
    def left(self) -> float | None:
        """Money in less costs."""
        return None if self.cost is None else self.income - self.cost


@dataclass(frozen=True, slots=True)
class MarketAnswer:
    """Every kind for so many days ahead at a level of service, and what sales brought; ``few``: fewer days say little."""

    kinds: tuple[Selling, ...]
    earned: tuple[Earned, ...]
    places: tuple[str | None, ...]
    days: int
    sure: float
    few: int
    uncosted: tuple[str, ...]

    def in_json(self) -> tuple[Selling, ...]:
        """For other programs: a row for each kind, or for each of its places."""
        return self.kinds


def market(loaded: Loaded, days: int = 1, sure: float = HIGH, place: str | None = None) -> MarketAnswer:
    """What sells, from all places or from one."""
    house, limits = loaded.warehouse, thresholds()
    candles, prices = candle_kinds(loaded), costs(loaded)
    everywhere = house.ask("market_sales_up_to_today")
    rows = [r for r in everywhere if place is None or r["place"] == place]
    shelf = on_shelf(house)
    wanted = _Wanted(days, sure, limits["places_odds"])
    kinds = [s for c in candles for s in _selling(c.candle, rows, shelf.get(c.candle, 0), wanted)]
    earned = [e for e in _earned(house, candles, prices) if place is None or e.place == place]
    places = tuple(dict.fromkeys(r["place"] for r in everywhere))
    missing = prices.missing(candles)
    return MarketAnswer(tuple(kinds), tuple(earned), places, days, sure, int(limits["little_days"]), missing)


def on_shelf(house: Warehouse) -> dict[str, int]:
    """Candles made and not sold, by kind."""
    return {r["candle"]: int(r["count"]) for r in house.rows("SELECT candle, count FROM candle_stock")}


def usual(rows: Sequence[Row]) -> float:
    """Candles sold for each kind and day on offer, m0."""
    return sum(r["sold"] for r in rows) / len(rows) if rows else 0.0


def most_to_make(loaded: Loaded) -> dict[str, int]:
    """What a year's market days may ask for of each kind that sells, less the shelf: the most that a mix makes of it.

    A kind without sales, and every kind where nothing was sold in the last twelve months, has no such limit.
    """
    rows, shelf = loaded.warehouse.ask("market_sales_up_to_today"), on_shelf(loaded.warehouse)
    days = len({(r["date"], r["place"]) for r in rows if r["date"] > loaded.today - YEAR})
    m0, most = usual(rows), {}
    for candle, mine in _by(rows, "candle"):
        if days and sum(r["sold"] for r in mine):
            need = market_demand.demand(_days(mine), m0).ahead(days).enough(HIGH)
            most[candle] = max(need - max(shelf.get(candle, 0), 0), 0)
    return most


@dataclass(frozen=True, slots=True)
class _Wanted:
    """For how many days, how surely, and by which odds two places are told apart."""

    days: int
    sure: float
    odds: float


def _selling(candle: str, rows: Sequence[Row], held: int, wanted: _Wanted) -> list[Selling]:
    """One row for a kind, or one for each place where they differ by more than chance."""
    mine = [r for r in rows if r["candle"] == candle]
    if not mine:
        return [Selling(candle, None, 0, 0, 0, *(None,) * 5, held, None, ())]
    places = _by(mine, "place")
    if market_demand.apart([_days(part) for _, part in places], usual(rows), wanted.odds):
        return [
            _sold((candle, place), part, usual([r for r in rows if r["place"] == place]), held, wanted)
            for place, part in places
        ]
    return [_sold((candle, places[0][0] if len(places) == 1 else None), mine, usual(rows), held, wanted)]


def _sold(what: tuple[str, str | None], rows: Sequence[Row], m0: float, held: int, wanted: _Wanted) -> Selling:
    demand = market_demand.demand(_days(rows), m0)
    one = demand.ahead()
    many = demand.ahead(wanted.days) if wanted.days > 1 else one
    low, mid, high, take = (one.enough(q) for q in (LOW, MID, HIGH, wanted.sure))
    make = max(many.enough(wanted.sure) - max(held, 0), 0)
    sold, out = (sum(r[count] for r in rows) for count in ("sold", "sold_out"))
    return Selling(*what, len(rows), sold, out, demand.mean, low, mid, high, take, held, make, demand.size_chances)


def _days(rows: Iterable[Row]) -> list[Day]:
    return [Day(r["sold"], r["sold_out"]) for r in rows]


def _by(rows: Sequence[Row], key: str) -> list[tuple[Any, list[Row]]]:
    """Rows that stand together by a column."""
    return [(name, list(part)) for name, part in groupby(rows, key=lambda r: r[key])]


def _earned(house: Warehouse, candles: Sequence[Candle], costs: Costs) -> list[Earned]:
    each = {c.candle: costs.of(c) for c in candles}
    return [
        Earned(**r, cost=None if each[r["candle"]] is None else r["count"] * (each[r["candle"]] or 0.0))
        for r in house.ask("sales_by_place_and_month")
    ]
