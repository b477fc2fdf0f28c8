"""Charts of single losses: limits from the moving range, and the four Western Electric rules.

Shewhart's individuals chart as in NIST/SEMATECH 6.3.2.2: sigma = mean moving range / d2, limits at three sigma.
Which rules, and from how many points on, was chosen by simulation: the trend rules of other sets only add alarms.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import isnan, nan, pi, sqrt

import numpy as np

from pipeline.analyses.balance_least_squares import Flags, Floats, Ints
from pipeline.analyses.distributions import MAD_TO_SD, t_below

D2 = 2 / sqrt(pi)
"""Mean range of two standard normal values."""
PROVISIONAL, SET = 6, 15
"""Points from which limits are drawn at all, and from which they are taken as settled."""
LATEST = 100
"""So many of the latest points stand in a chart one by one."""

LEAST_LOSS = 0.001
"""A loss below this is a scale's, not a pass's."""

LEAST_SD = 0.05
"""Passes are never taken to scatter less than this in log odds: a twentieth of a loss of 3 % is a gram in a pound."""

_RUNS = ((1, 1, 3.0), (2, 3, 2.0), (4, 5, 1.0), (8, 8, 0.0))
"""Rule n: how many of how many points beyond how many sigmas, on one side (Western Electric 1956)."""
_LONGEST = max(of for _, of, _ in _RUNS)


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one run of losses; shares. ``lower``/``upper`` are not clipped to 0-1; None below six points.

    ``state``: ``none``, ``provisional`` or ``set``. ``flat``: all points equal, so no variation was recorded.
    """

    n: int
    centre: float | None
    sigma: float | None
    state: str
    flat: bool = False

    @property
    def lower(self) -> float | None:
        """Three sigma below the centre."""
        return None if self.sigma is None or self.centre is None else self.centre - 3 * self.sigma

    @property
    def upper(self) -> float | None:
        """Three sigma above the centre."""
        return None if self.sigma is None or self.centre is None else self.centre + 3 * self.sigma


def limits(losses: Sequence[float | None] | Floats) -> Limits:
    """Limits of losses in order of date; None (or nan) where a pass is missing, which breaks the moving range."""
    series = np.array(losses, float)
    points, ranges = (x[~np.isnan(x)] for x in (series, np.abs(np.diff(series))))
    n, centre = len(points), float(points.mean()) if len(points) else None
    if n < PROVISIONAL or not len(ranges):
        return Limits(n, centre, None, "none")
    if points.max() == points.min():
        return Limits(n, centre, None, "none", flat=True)
    sigma = float(ranges.mean()) / D2
    state = "set" if n >= SET else "provisional"
    return Limits(n, centre, sigma or None, state if sigma else "none")


def signals(losses: Sequence[float | None] | Floats, chart: Limits) -> list[tuple[int, int]]:
    """(place in ``losses``, rule 1-4) of every point at which a rule fires; a gap starts the runs anew."""
    if chart.sigma is None or chart.centre is None:
        return []
    z = (np.array(losses, float) - chart.centre) / chart.sigma
    place = np.arange(len(z))
    begun = np.maximum.accumulate(np.where(np.isnan(z), place + 1, 0))
    fired = [_fires(z, begun, *want) for want in _RUNS]
    return sorted((int(p), rule) for rule, here in enumerate(fired, 1) for p in np.flatnonzero(here))


def chances(losses: Floats, u: Floats, places: Sequence[int]) -> list[float]:
    """How likely losses at these places are so far from the others by chance, all being asked; nan where not known.

    On the log odds of the loss, each point against the rest (externally studentized residual, t with n - 2 degrees of
    freedom), small lots weighted by what their weighing leaves open (``u``, shares), times the number of points.
    """
    known = ~np.isnan(losses)
    loss, u = losses[known], u[known]
    loss = np.clip(loss, np.maximum(u, LEAST_LOSS), 1 - LEAST_LOSS)
    z, doubt = np.log(loss / (1 - loss)), (u / (loss * (1 - loss))) ** 2
    n, t = len(z), np.full(len(losses), np.nan)
    if n < PROVISIONAL:
        return [nan] * len(places)
    t[known] = _studentized(z, doubt)
    return [min(1.0, n * 2 * t_below(-abs(x), n - 2)) if not isnan(x) else nan for x in t[list(places)].tolist()]


def _studentized(z: Floats, doubt: Floats) -> Floats:
    """How many sds each of the points ``z`` lies from the rest; their weighings leave the variances ``doubt`` open."""
    n = len(z)
    usual = MAD_TO_SD * float(np.median(np.abs(z - np.median(z))))
    own = max(usual**2 - float(np.median(doubt)), LEAST_SD**2)
    weight = own / (own + doubt)
    mean, leverage = float(weight @ z / weight.sum()), weight / weight.sum()
    rest = np.sqrt(weight) * (z - mean)
    squares = float((rest**2).sum())
    without = np.maximum(squares - rest**2 / (1 - leverage), 1e-300) / (n - 2)
    t: Floats = rest / np.sqrt(without * (1 - leverage))
    return t


def _fires(z: Floats, begun: Ints, need: int, of: int, beyond: float) -> Flags:
    """Where a point completes the rule: it lies beyond, and so do enough of those before it since ``begun``."""
    place = np.arange(len(z))
    since = np.maximum(begun, place + 1 - of)
    fires = np.zeros(len(z), bool)
    for side in (z, -z):
        hit = side > beyond
        so_far = np.concatenate([[0], np.cumsum(hit)])
        fires |= hit & (so_far[place + 1] - so_far[np.minimum(since, place)] >= need)
    return fires


@dataclass(frozen=True, slots=True)
class ChartedPass:
    """One weighed step in a chart: its loss as a share, None where it cannot be known."""

    session: str
    number: int
    date: date
    loss: float | None


@dataclass(frozen=True, slots=True, eq=False)
class KindOfPass:
    """The losses of steps alike since the last marked change, in order of date; nan where one is not known; ``u``: by scale.

    ``comb`` of first passes only. ``since``: date and words of that change, None before the first. ``place``: where
    its first step stands among all steps.
    """

    stage: str
    method: str
    comb: str | None
    since: tuple[date, str] | None
    place: int
    losses: Floats
    u: Floats


@dataclass(frozen=True, slots=True)
class Signal:
    """A step at which a rule fired. ``grade``: ``signal`` for rule 1, ``look`` for the runs; of a signal ``p``: its chance."""

    session: str
    number: int
    date: date
    loss: float | None
    rule: int
    grade: str
    p: float | None = None


@dataclass(frozen=True, slots=True)
class Chart:
    """The losses of steps alike since the last change that was marked, their limits, and the rules that fired.

    ``since``: date and words of the change that it starts from, None before the first. ``steps``: how many there are;
    ``points``: the latest of them.
    """

    stage: str
    method: str
    comb: str | None
    since: tuple[date, str] | None
    steps: int
    points: tuple[ChartedPass, ...]
    limits: Limits
    signals: tuple[Signal, ...]

    @property
    def n(self) -> int:
        """How many losses are known."""
        return self.limits.n

    @property
    def centre(self) -> float | None:
        """Mean loss."""
        return self.limits.centre

    @property
    def lower(self) -> float | None:
        """Lower limit, not clipped."""
        return self.limits.lower

    @property
    def upper(self) -> float | None:
        """Upper limit, not clipped."""
        return self.limits.upper

    @property
    def state(self) -> str:
        """``none``, ``provisional`` or ``set``."""
        return self.limits.state


def charts(
    kinds: Sequence[KindOfPass],
    steps: Callable[[Sequence[int]], Sequence[ChartedPass]],
    latest_signals: int | None = None,
) -> list[Chart]:
    """A chart for each kind; ``steps`` fetches those that a chart names, by their places among all steps.

    Limits are those of all steps; the rules are asked of all of them, or of so many of the latest.
    """
    found = [(k, drawn := limits(k.losses), _asked(k.losses, drawn, latest_signals)) for k in kinds]
    latest = [range(k.place + max(len(k.losses) - LATEST, 0), k.place + len(k.losses)) for k in kinds]
    fired = [k.place + place for k, _, rules in found for place, _ in rules]
    wanted = sorted({*fired, *(place for places in latest for place in places)})
    named = dict(zip(wanted, steps(wanted), strict=True))
    return [
        Chart(
            k.stage, k.method, k.comb, k.since, len(k.losses), tuple(named[p] for p in last), drawn,
            _signals(k, rules, named),
        )
        for (k, drawn, rules), last in zip(found, latest, strict=True)
    ]  # fmt: skip


def _asked(losses: Floats, drawn: Limits, latest: int | None) -> list[tuple[int, int]]:
    """Signals among so many of the latest points; those just before still stand in their runs."""
    since = max(len(losses) - (len(losses) if latest is None else latest), 0)
    lead = max(since - _LONGEST, 0)
    return [(lead + place, rule) for place, rule in signals(losses[lead:], drawn) if lead + place >= since]


def _signals(
    kind: KindOfPass, rules: Sequence[tuple[int, int]], named: Mapping[int, ChartedPass]
) -> tuple[Signal, ...]:
    """The steps at which rules fired; those beyond the limits with the chance of that."""
    outlying = [place for place, rule in rules if rule == 1]
    p = dict(zip(outlying, chances(kind.losses, kind.u, outlying), strict=True))
    found = []
    for place, rule in rules:
        step, outside = named[kind.place + place], rule == 1
        told = (step.session, step.number, step.date, step.loss, rule, "signal" if outside else "look")
        found.append(Signal(*told, p[place] if outside else None))
    return tuple(found)
