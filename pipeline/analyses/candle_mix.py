"""The best mix of candles for a mass of wax: an integer program, solved exactly, the same way every time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor, fsum

import numpy as np
import numpy.typing as npt

MG = 1000  # counted in whole milligrams: no fraction of a gram is lost, and no float decides what fits
CENT = 10_000  # worths in whole ten-thousandths of the currency
PATIENCE_S = 10.0  # for each question; nobody waits longer at a table, and a real workshop takes hundredths


@dataclass(frozen=True, slots=True)
class MixableCandle:
    """A candle to choose from: its wax, what one is worth under the aim, work on one, how many a pour makes."""

    candle: str
    wax_each_g: float
    worth: float
    work_min: float = 0.0
    per_pour: int = 1


@dataclass(frozen=True, slots=True)
class Chosen:
    """How many to make of one kind."""

    candle: str
    count: int


@dataclass(frozen=True, slots=True)
class Mix:
    """The choice, kinds with 0 included, the wax that it takes and what it is worth.

    ``proved``: nothing better fits; False where the solver ran out of time and this is the best that it had found.
    """

    candles: tuple[Chosen, ...]
    wax_g: float
    value: float
    proved: bool = True


@dataclass(frozen=True, slots=True)
class Unfit:
    """No mix can meet the wishes: the first least count that does not fit, and why."""

    candle: str
    least: int
    why: str

    def sentence(self) -> str:
        """For people."""
        return f"at least {self.least} of {self.candle} do not fit: {self.why}"


@dataclass(frozen=True, slots=True)
class Wishes:
    """Least and most counts by candle, in the order given, and hours of work (None: no limit)."""

    least: Mapping[str, int]
    most: Mapping[str, int]
    hours: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Pours:
    """The program in whole pours, one column per kind in the order of names."""

    kinds: tuple[MixableCandle, ...]
    mass_mg: npt.NDArray[np.int64]
    worth: npt.NDArray[np.int64]
    rows: npt.NDArray[np.float64]
    limits: npt.NDArray[np.float64]
    low: npt.NDArray[np.int64]
    high: npt.NDArray[np.int64]


def best_mix(kinds: Sequence[MixableCandle], wax_g: float, wishes: Wishes) -> Mix | Unfit:
    """The most worth; of equals the least wax; of those the most of the first name, then of the second."""
    named = tuple(sorted(kinds, key=lambda k: k.candle))
    unfit = first_unfit(named, wax_g, wishes)
    if unfit:
        return unfit
    pours, proved = _solve(_program(named, wax_g, wishes)) if named else (np.zeros(0, dtype=np.int64), True)
    counts = [int(n) * k.per_pour for n, k in zip(pours, named, strict=True)]
    return Mix(
        tuple(Chosen(k.candle, n) for k, n in zip(named, counts, strict=True)),
        fsum(n * k.wax_each_g for k, n in zip(named, counts, strict=True)),
        fsum(n * k.worth for k, n in zip(named, counts, strict=True)),
        proved,
    )


def first_unfit(kinds: Sequence[MixableCandle], wax_g: float, wishes: Wishes) -> Unfit | None:
    """The first least count, in the order wished, that wax, hours or its own most count leave no room for."""
    by_name = {k.candle: k for k in kinds}
    left_mg, left_min = _mg_floor(wax_g), None if wishes.hours is None else wishes.hours * 60
    for candle, least in wishes.least.items():
        kind = by_name[candle]
        pours = whole_pours(least, kind)
        count = pours * kind.per_pour
        left_mg -= pours * _pour_mg(kind)
        if candle in wishes.most and wishes.most[candle] // kind.per_pour < pours:
            why = f"at most {wishes.most[candle]} were asked for and a pour makes {kind.per_pour}"
            return Unfit(candle, least, why)
        if left_mg < 0:
            return Unfit(candle, least, f"{-left_mg / MG:.1f} g of wax are lacking")
        if left_min is not None:
            left_min -= count * kind.work_min
            if left_min < -1e-9:
                return Unfit(candle, least, f"{-left_min / 60:.2f} hours are lacking")
    return None


def whole_pours(count: int, kind: MixableCandle) -> int:
    """The fewest pours that make so many."""
    return ceil(count / kind.per_pour)


def _program(kinds: tuple[MixableCandle, ...], wax_g: float, wishes: Wishes) -> _Pours:
    mass = np.array([_pour_mg(k) for k in kinds], dtype=np.int64)
    worth = np.array([round(k.worth * k.per_pour * CENT) for k in kinds], dtype=np.int64)
    work = np.array([k.work_min * k.per_pour for k in kinds])
    wax_mg = max(_mg_floor(wax_g), 0)  # a shelf below nothing makes as little as an empty one
    rows, limits = [mass / MG], [wax_mg / MG]
    if wishes.hours is not None:
        rows.append(work)
        limits.append(wishes.hours * 60)
    low = np.array([whole_pours(wishes.least.get(k.candle, 0), k) for k in kinds], dtype=np.int64)
    room = np.array([wax_mg // m for m in mass], dtype=np.int64)
    most = [wishes.most[k.candle] // k.per_pour if k.candle in wishes.most else None for k in kinds]
    high = np.array([r if m is None else min(r, m) for r, m in zip(room, most, strict=True)], dtype=np.int64)
    return _Pours(kinds, mass, worth, np.array(rows), np.array(limits), low, np.maximum(high, low))


def _solve(p: _Pours) -> tuple[npt.NDArray[np.int64], bool]:
    """Worth first, then wax, then name by name: each answer becomes a limit of the next question."""
    rows, limits = p.rows, p.limits
    best, proved = _run(-p.worth / CENT, rows, limits, (p.low, p.high), p.low)
    rows = np.vstack([rows, -p.worth / CENT])
    limits = np.append(limits, -(int(p.worth @ best) - 0.5) / CENT)
    best, least = _run(p.mass_mg / MG, rows, limits, (p.low, p.high), best)
    limits[0] = min(limits[0], (int(p.mass_mg @ best) + 0.5) / MG)
    low, high, proved = p.low.copy(), p.high.copy(), proved and least
    for i in range(len(p.kinds) - 1):
        want = np.zeros(len(p.kinds))
        want[i] = -1.0
        best, most = _run(want, rows, limits, (low, high), best)
        low[i] = high[i] = best[i]
        proved = proved and most
    return best, proved


def _run(
    cost: npt.NDArray[np.float64],
    rows: npt.NDArray[np.float64],
    limits: npt.NDArray[np.float64],
    ends: tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]],
    known: npt.NDArray[np.int64],
) -> tuple[npt.NDArray[np.int64], bool]:
    """The answer of least cost, and whether it is proved; ``known`` fits, and stands where the clock leaves none."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # slow to load, and only the mix needs it

    result = milp(
        c=cost,
        constraints=LinearConstraint(rows, -np.inf, limits + 1e-9),
        integrality=np.ones(len(cost), dtype=np.int64),
        bounds=Bounds(*(end.astype(float) for end in ends)),
        options={"mip_rel_gap": 0.0, "time_limit": PATIENCE_S},
    )
    return (known if result.x is None else np.rint(result.x).astype(np.int64)), result.status == 0


def _pour_mg(kind: MixableCandle) -> int:
    return round(kind.wax_each_g * kind.per_pour * MG)


def _mg_floor(wax_g: float) -> int:
    return floor(wax_g * MG + 1e-6)
