"""Wax on hand walked forward over the planned batches: what is covered, and with what chance."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import floor

import numpy as np
import numpy.typing as npt

from pipeline.analyses.distributions import normal_quantile
from pipeline.analyses.forecast_doubts import Doubt
from pipeline.analyses.pending_wax import SEED, Pending, middle

Array = npt.NDArray[np.float64]
SLACK = 1e-9  # whole candles must not be lost to the last bit of a division


@dataclass(frozen=True, slots=True)
class Planned:
    """A planned batch as logged; ``wax_each_g`` None where the candle has no size or no recipe that can be used."""

    batch: str
    date: date
    candle: str
    count: int
    wax_each_g: float | None


@dataclass(frozen=True, slots=True)
class BatchForecast:
    """A batch and how far the wax goes; ``date`` is the day that it is due, ``planned`` the day in the log.

    ``chance`` is never 0 or 1. ``melted_in_time``: whether it hangs on waiting comb or wax being melted by its day.
    """

    batch: str
    planned: date
    date: date
    candle: str
    count: int
    wax_g: float | None
    covered: int | None
    chance: float | None
    melted_in_time: bool


@dataclass(frozen=True, slots=True)
class OnHand:
    """Wax on hand at the end of a day, 10, 50 and 90 %, pending wax in and planned batches out."""

    date: date
    low_g: float
    mid_g: float
    high_g: float


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A day on which the wax in hand no longer reaches: grams lacking since today, all batches up to then made."""

    date: date
    batch: str
    short_g: float


@dataclass(frozen=True, slots=True)
class Plan:
    """The forecast over the planned batches; ``short_on`` and ``short_g`` speak of the wax in hand alone."""

    batches: tuple[BatchForecast, ...]
    short_on: date | None
    short_g: float
    chance_all: float | None
    on_hand: tuple[OnHand, ...]
    shortfalls: tuple[Shortfall, ...]
    notes: tuple[Doubt, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """Per draw (row) and batch (column): candles poured, and wax left after it in grams."""

    poured: Array
    left_g: Array


def whole(wax_g: float, each_g: float) -> int:
    """How many whole candles of ``each_g`` a mass of wax makes, never below 0."""
    return max(floor(wax_g / each_g + SLACK), 0)


def shelf(stock_g: float, u_g: float, draws: int) -> Array:
    """Draws of what really stands on the shelf. The middle two are the ledger's own figure, the rest evenly normal."""
    away = np.array([normal_quantile((i + 0.5) / draws) for i in range(draws)]) if u_g else np.zeros(draws)
    away[(draws - 1) // 2 : draws // 2 + 1] = 0.0
    return np.asarray(stock_g + u_g * np.random.default_rng(SEED + 1).permutation(away))


def among_draws(hits: npt.NDArray[np.bool_] | np.bool_) -> float:
    """The chance behind so many hits among draws: never 0 nor 1, which no number of draws can show (Jeffreys)."""
    return (float(np.count_nonzero(hits)) + 0.5) / (hits.size + 1)


def walk(stock_g: Array, receipts: Sequence[tuple[date, Array]], batches: Sequence[Planned]) -> Walk:
    """Walk the ledger forward, receipts before issues on a day; every batch is poured as far as the wax goes.

    ``stock_g`` are draws, ``receipts`` dated columns of as many, g; ``batches`` stand in the order of pouring.
    """
    draws, left = len(stock_g), stock_g
    poured, after = np.zeros((draws, len(batches))), np.zeros((draws, len(batches)))
    due = sorted(receipts, key=lambda r: r[0])
    for i, b in enumerate(batches):
        while due and due[0][0] <= b.date:
            left = left + due.pop(0)[1]
        if b.wax_each_g:
            most = np.floor(left / b.wax_each_g + SLACK)
            poured[:, i] = np.clip(most, 0, b.count)
        else:
            poured[:, i] = b.count if b.wax_each_g == 0 else 0
        left = left - poured[:, i] * (b.wax_each_g or 0.0)
        after[:, i] = left
    return Walk(poured, after)


def plan(stock_g: float, batches: Iterable[Planned], pending: Pending, today: date, stock_u_g: float = 0.0) -> Plan:
    """The whole forecast. ``batches`` in file order: batches of one day are poured in that order.

    ``stock_u_g``: how far the shelf may be from its ledger; what is covered and short goes by the ledger.
    """
    logged = sorted(batches, key=lambda b: b.date)
    due = [Planned(b.batch, max(b.date, today), b.candle, b.count, b.wax_each_g) for b in logged]
    receipts = [(lot.ready, pending.draws_g[:, i]) for i, lot in enumerate(pending.lots)]
    on_shelf = shelf(stock_g, stock_u_g, len(pending.draws_g))
    sure, likely = walk(np.array([stock_g]), [], due), walk(on_shelf, receipts, due)
    counts = np.array([b.count for b in due])
    whole_batch = likely.poured >= counts
    told = tuple(
        _told(b, was.date, int(sure.poured[0, i]), among_draws(whole_batch[:, i]), [day for day, _ in receipts])
        for i, (b, was) in enumerate(zip(due, logged, strict=True))
    )
    shortfalls = short_days(stock_g, due)
    return Plan(
        batches=told,
        short_on=shortfalls[0].date if shortfalls else None,
        short_g=shortfalls[0].short_g if shortfalls else 0.0,
        chance_all=among_draws(whole_batch.all(axis=1)) if due else None,
        on_hand=_on_hand(on_shelf, receipts, due, likely, today),
        shortfalls=shortfalls,
        notes=_notes(stock_g, due, pending),
    )


def short_days(stock_g: float, due: Sequence[Planned]) -> tuple[Shortfall, ...]:
    """The days on which the wax in hand alone falls short, with all that lacks since today and the last batch."""
    found = []
    left, due = stock_g, [b for b in due if b.wax_each_g]  # a batch that takes no wax is never short of it
    for i, b in enumerate(due):
        left -= b.count * (b.wax_each_g or 0.0)
        last_of_day = i + 1 == len(due) or due[i + 1].date > b.date
        if last_of_day and left < -SLACK:
            found.append(Shortfall(b.date, b.batch, -left))
    return tuple(found)


def _told(b: Planned, logged: date, covered: int, chance: float, receipts: Sequence[date]) -> BatchForecast:
    if b.wax_each_g is None:
        return BatchForecast(b.batch, logged, b.date, b.candle, b.count, None, None, None, False)
    wax_g = b.count * b.wax_each_g
    waits = covered < b.count and any(day <= b.date for day in receipts)
    return BatchForecast(b.batch, logged, b.date, b.candle, b.count, wax_g, covered, chance, waits)


def _on_hand(
    stock_g: Array, receipts: Sequence[tuple[date, Array]], due: Sequence[Planned], likely: Walk, today: date
) -> tuple[OnHand, ...]:
    """One point at the end of today and of every day on which wax comes or goes."""
    moves = [*receipts, *((b.date, -likely.poured[:, i] * (b.wax_each_g or 0.0)) for i, b in enumerate(due))]
    moves.sort(key=lambda move: move[0])
    left = stock_g
    points = []
    for day in sorted({today, *(when for when, _ in moves)}):
        while moves and moves[0][0] <= day:
            left = left + moves.pop(0)[1]
        m = middle(left)
        points.append(OnHand(day, m.low, m.mid, m.high))
    return tuple(points)


def _notes(stock_g: float, due: Sequence[Planned], pending: Pending) -> tuple[Doubt, ...]:
    notes = list(pending.notes)
    if stock_g < 0:
        notes.insert(0, Doubt("below nothing", {"stock_g": stock_g}))
    if not due:
        notes.append(Doubt("nothing planned"))
    return tuple(notes)
