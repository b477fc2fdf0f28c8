"""Wax on hand walked forward over the planned batches: what is covered, and with what chance."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import floor

import numpy as np
import numpy.typing as npt

from pipeline.analyses.pending_wax import Pending, middle

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
    """A batch and how far the wax goes; ``date`` is the day that it is due, ``planned`` the day in the log."""

    batch: str
    planned: date
    date: date
    candle: str
    count: int
    wax_g: float | None
    covered: int | None
    chance: float | None
    note: str | None


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
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """Per draw (row) and batch (column): candles poured, and wax left after it in grams."""

    poured: Array
    left_g: Array


def whole(wax_g: float, each_g: float) -> int:
    """How many whole candles of ``each_g`` a mass of wax makes, never below 0."""
    return max(floor(wax_g / each_g + SLACK), 0)


def walk(stock_g: float, receipts: Sequence[tuple[date, Array]], batches: Sequence[Planned]) -> Walk:
    """Walk the ledger forward, receipts before issues on a day; every batch is poured as far as the wax goes.

    ``receipts`` are dated columns of draws in grams, all of one length; ``batches`` stand in the order of pouring.
    """
    draws = len(receipts[0][1]) if receipts else 1
    left = np.full(draws, stock_g)
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


def plan(stock_g: float, batches: Iterable[Planned], pending: Pending, today: date) -> Plan:
    """The whole forecast. ``batches`` in file order: batches of one day are poured in that order."""
    logged = sorted(batches, key=lambda b: b.date)
    due = [Planned(b.batch, max(b.date, today), b.candle, b.count, b.wax_each_g) for b in logged]
    receipts = [(lot.ready, pending.draws_g[:, i]) for i, lot in enumerate(pending.lots)]
    sure = walk(stock_g, [], due)
    likely = walk(stock_g, receipts, due)
    counts = np.array([b.count for b in due])
    whole_batch = likely.poured >= counts
    told = tuple(
        _told(b, was.date, int(sure.poured[0, i]), float(whole_batch[:, i].mean()))
        for i, (b, was) in enumerate(zip(due, logged, strict=True))
    )
    shortfalls = short_days(stock_g, due)
    return Plan(
        batches=told,
        short_on=shortfalls[0].date if shortfalls else None,
        short_g=shortfalls[0].short_g if shortfalls else 0.0,
        chance_all=float(whole_batch.all(axis=1).mean()) if due else None,
        on_hand=_on_hand(stock_g, receipts, due, likely, today),
        shortfalls=shortfalls,
        notes=_notes(stock_g, due, pending),
    )


def short_days(stock_g: float, due: Sequence[Planned]) -> tuple[Shortfall, ...]:
    """The days on which the wax in hand alone falls short, with all that lacks since today and the last batch."""
    found = []
    left = stock_g
    for i, b in enumerate(due):
        left -= b.count * (b.wax_each_g or 0.0)
        last_of_day = i + 1 == len(due) or due[i + 1].date > b.date
        if last_of_day and left < -SLACK:
            found.append(Shortfall(b.date, b.batch, -left))
    return tuple(found)


def _told(b: Planned, logged: date, covered: int, chance: float) -> BatchForecast:
    notes = []
    if logged < b.date:
        notes.append(f"was planned for {logged.isoformat()}, due today")
    if b.wax_each_g is None:
        notes.append("the wax in this candle cannot be worked out")
        return BatchForecast(b.batch, logged, b.date, b.candle, b.count, None, None, None, "; ".join(notes))
    wax_g = b.count * b.wax_each_g
    note = "; ".join(notes) or None
    return BatchForecast(b.batch, logged, b.date, b.candle, b.count, wax_g, covered, chance, note)


def _on_hand(
    stock_g: float, receipts: Sequence[tuple[date, Array]], due: Sequence[Planned], likely: Walk, today: date
) -> tuple[OnHand, ...]:
    """One point at the end of today and of every day on which wax comes or goes."""
    moves = [*receipts, *((b.date, -likely.poured[:, i] * (b.wax_each_g or 0.0)) for i, b in enumerate(due))]
    moves.sort(key=lambda move: move[0])
    left = np.full(len(likely.poured), stock_g)
    points = []
    for day in sorted({today, *(when for when, _ in moves)}):
        while moves and moves[0][0] <= day:
            left = left + moves.pop(0)[1]
        m = middle(left)
        points.append(OnHand(day, m.low, m.mid, m.high))
    return tuple(points)


def _notes(stock_g: float, due: Sequence[Planned], pending: Pending) -> tuple[str, ...]:
    notes = list(pending.notes)
    if stock_g < 0:
        notes.insert(0, f"the shelf stands at {stock_g:.0f} g, below nothing: look through the ledger before planning")
    if not due:
        notes.append("no batch is planned")
    return tuple(notes)
