"""The wax still to come: comb not yet rendered and wax set aside, as joint draws over all lots."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from pipeline.analyses import waiting_lot_methods
from pipeline.analyses.forecast_doubts import Doubt
from pipeline.analyses.frame_weights import Counted, FrameWeights
from pipeline.analyses.refining_loss_model import Refining
from pipeline.analyses.yield_model import Interval, RenderedLot, Sort, YieldModel, fit, usable
from pipeline.analyses.yield_priors import Priors
from pipeline.contract.outcome_range import HIGH, LOW, MID

Array = npt.NDArray[np.float64]
DRAWS = 10_000
SEED = 20_250_814  # fixed, so that the same book gives the same numbers
MANY = 300  # lots beyond which those of one kind and day are drawn as one: wider, never narrower


@dataclass(frozen=True, slots=True)
class WaitingLot:
    """Something that will give wax: a harvest of a kind of comb, or (``comb`` None) wax set aside of a session.

    ``ready``: the day its wax is expected, None: not said. ``season``: the one it will be melted in. ``method``: the one
    it shall be melted by, None: not said. ``counted``: of comb counted in frames alone; its mass is drawn then.
    """

    source: str
    comb: str | None
    mass_g: float
    ready: date | None = None
    season: str | None = None
    method: str | None = None
    counted: Counted | None = None


@dataclass(frozen=True, slots=True)
class LotForecast:
    """What one lot is expected to give, in grams of wax, from which day on and by which methods, likeliest first."""

    lot: WaitingLot
    methods: tuple[str | None, ...]
    ready: date
    low_g: float
    mid_g: float
    high_g: float


@dataclass(frozen=True, slots=True, eq=False)
class Pending:
    """All wax to come: one forecast per lot, the joint draws (draw, lot) in grams, and what must be said of them."""

    lots: tuple[LotForecast, ...]
    draws_g: Array
    notes: tuple[Doubt, ...]

    def total_g(self) -> Array:
        """One total per draw."""
        return np.asarray(self.draws_g.sum(axis=1))

    def total(self) -> Interval:
        """Low, mid and high of all of it together."""
        return middle(self.total_g())


@dataclass(frozen=True, slots=True, eq=False)
class Past:
    """What a forecast rests on: finished sessions in order, yields of comb, weights of frames, refinings."""

    sessions: Sequence[RenderedLot]
    priors: Priors
    frames: FrameWeights
    refining: Refining


def middle(draws: Array) -> Interval:
    """The 10, 50 and 90 % points, each a value that was drawn, so that counts stay whole."""
    low, mid, high = np.quantile(draws, (LOW, MID, HIGH), method="inverted_cdf")
    return Interval(float(low), float(mid), float(high))


def expected(lots: Iterable[WaitingLot], past: Past, today: date) -> Pending:
    """Draw the wax of all lots together, from what was known on ``today``."""
    past = replace(past, sessions=usable(s for s in past.sessions if s.date <= today))
    there = (lot for lot in lots if lot.counted or lot.mass_g > 0)
    waiting = _few(sorted((_waiting(lot, today) for lot in there), key=lambda w: w.source))
    rng = np.random.default_rng(SEED)
    columns = [i for i, w in enumerate(waiting) if w.comb is not None]
    comb = [waiting[i] for i in columns]
    sorts, which = _sorts(comb, past, rng)
    model = fit(past.sessions, past.priors, sorts)
    ends = past.refining.yields([w.ready or today for w in waiting], rng, DRAWS)
    draws_g = ends * np.array([w.mass_g for w in waiting])
    later = _refined_later(comb, past, rng)
    won = _masses(comb, past.frames, rng) * model.draws(sorts, which, rng) if comb else np.zeros((DRAWS, 0))
    draws_g[:, columns] = won * np.where(later, ends[:, columns], 1.0)
    told = tuple(_told(w, past, draws_g[:, i], today) for i, w in enumerate(waiting))
    return Pending(told, draws_g, _notes(waiting, model, past, today))


def _sorts(
    comb: Sequence[WaitingLot], past: Past, rng: np.random.Generator
) -> tuple[list[Sort], npt.NDArray[np.int64]]:
    """What each lot may turn out to be, and which of it each draw has it be (draw, lot)."""
    sorts: dict[Sort, int] = {}
    which = np.zeros((DRAWS, len(comb)), np.int64)
    for places in _by_kind(comb):
        kind = comb[places[0]].comb or ""
        known = waiting_lot_methods.ways(past.sessions, kind, past.priors)
        drawn = waiting_lot_methods.drawn(known, len(places), rng, DRAWS)
        for column, i in enumerate(places):
            by = [comb[i].method] if comb[i].method else [method for method, _ in known]
            number = np.array([sorts.setdefault((kind, method, comb[i].season), len(sorts)) for method in by])
            which[:, i] = number[0] if comb[i].method else number[drawn[:, column]]
    return list(sorts), which


def _refined_later(comb: Sequence[WaitingLot], past: Past, rng: np.random.Generator) -> npt.NDArray[np.bool_]:
    later = np.zeros((DRAWS, len(comb)), bool)
    for places in _by_kind(comb):
        later[:, places] = waiting_lot_methods.refined_later(
            past.sessions, comb[places[0]].comb or "", len(places), rng, DRAWS
        )
    return later


def _by_kind(comb: Sequence[WaitingLot]) -> list[list[int]]:
    """The places of the lots of each kind."""
    kinds: dict[str | None, list[int]] = {}
    for i, lot in enumerate(comb):
        kinds.setdefault(lot.comb, []).append(i)
    return list(kinds.values())


def _masses(comb: Sequence[WaitingLot], frames: FrameWeights, rng: np.random.Generator) -> Array:
    """The comb of each lot (draw, lot), g: as weighed, or frames by what one weighs less what was loaded."""
    masses = np.tile(np.array([lot.mass_g for lot in comb]), (DRAWS, 1))
    counted = {i: lot.counted for i, lot in enumerate(comb) if lot.counted}
    each_g = frames.draws([comb[i].comb or "" for i in counted], rng, DRAWS)
    for column, (i, c) in enumerate(counted.items()):
        masses[:, i] = np.maximum(c.frames * each_g[:, column] - c.loaded_g, 0.0)
    return masses


def _waiting(lot: WaitingLot, today: date) -> WaitingLot:
    """A lot whose day has passed is there today; one without a day keeps None, so that it can be said."""
    return lot if lot.ready is None else replace(lot, ready=max(lot.ready, today))


def _few(lots: list[WaitingLot]) -> list[WaitingLot]:
    """The lots as they are, or of very many one per kind, day and method, so that the draws stay in memory."""
    if len(lots) <= MANY:
        return lots
    groups: dict[tuple[object, ...], list[WaitingLot]] = {}
    for lot in lots:
        groups.setdefault((lot.comb, lot.ready, lot.method, lot.counted is None), []).append(lot)
    return [_together(g) if len(g) > 1 else g[0] for g in groups.values()]


def _together(lots: list[WaitingLot]) -> WaitingLot:
    counts = [lot.counted for lot in lots if lot.counted]
    counted = Counted(sum(c.frames for c in counts), sum(c.loaded_g for c in counts)) if counts else None
    source = f"{len(lots)} lots from {lots[0].source}"
    return replace(lots[0], source=source, mass_g=sum(lot.mass_g for lot in lots), counted=counted)


def _told(lot: WaitingLot, past: Past, draws_g: Array, today: date) -> LotForecast:
    m = middle(draws_g)
    known = (
        [(lot.method, 1)]
        if lot.method
        else waiting_lot_methods.ways(past.sessions, lot.comb, past.priors)
        if lot.comb
        else ()
    )
    return LotForecast(lot, tuple(method for method, _ in known), lot.ready or today, m.low, m.mid, m.high)


def _notes(lots: Sequence[WaitingLot], model: YieldModel, past: Past, today: date) -> tuple[Doubt, ...]:
    if not lots:
        return (Doubt("nothing waits"),)
    notes = []
    combs = sorted({w.comb for w in lots if w.comb is not None})
    if combs and not model.sessions:
        notes.append(Doubt("judged ranges"))
    notes += [Doubt("unknown comb", {"comb": k}) for k in combs if not past.priors.known(k)]
    notes += _of_frames(lots, past.frames)
    notes += [way for k in combs for way in _open_ways(k, past) if any(w.comb == k and w.method is None for w in lots)]
    undated = [w.source for w in lots if w.comb is not None and w.ready is None]
    if undated:
        notes.append(Doubt("no ready date", {"sources": tuple(undated), "on": today}))
    if not past.refining.own and any(w.comb is None for w in lots):
        notes.append(Doubt("judged refining"))
    if model.lost:
        notes.append(Doubt("lost all", {"lost": model.lost, "sessions": model.sessions}))
    return tuple(notes)


def _of_frames(lots: Sequence[WaitingLot], frames: FrameWeights) -> list[Doubt]:
    """Which lots were counted in frames, and what a frame was taken to weigh."""
    notes = []
    for comb in sorted({w.comb for w in lots if w.counted and w.comb}):
        each = frames.grams(comb)
        low, high = frames.upto(comb)
        own = {"comb": comb, "each_g": each.grams, "harvests": each.own}
        judged = {"comb": comb, "low_g": low, "high_g": high}
        notes.append(Doubt("own frames", own) if each.own else Doubt("judged frames", judged))
    return notes


def _open_ways(comb: str, past: Past) -> list[Doubt]:
    known = waiting_lot_methods.ways(past.sessions, comb, past.priors)
    return [Doubt("open ways", {"comb": comb, "ways": tuple(known)})] if len(known) >= 2 else []
