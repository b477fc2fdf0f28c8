"""Charts of single losses: limits from the moving range, and the four Western Electric rules.

Shewhart's individuals chart as in NIST/SEMATECH 6.3.2.2: sigma = mean moving range / d2, limits at three sigma.
Which rules, and from how many points on, was chosen by simulation: the trend rules of other sets only add alarms.
"""

from __future__ import annotations

import itertools
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import fsum, pi, sqrt

D2 = 2 / sqrt(pi)
"""Mean range of two standard normal values."""
PROVISIONAL, SET = 6, 15
"""Points from which limits are drawn at all, and from which they are taken as settled."""

_RUNS = ((1, 1, 3.0), (2, 3, 2.0), (4, 5, 1.0), (8, 8, 0.0))
"""Rule n: how many of how many points beyond how many sigmas, on one side (Western Electric 1956)."""


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


def limits(losses: Sequence[float | None]) -> Limits:
    """Limits of losses in order of date; None where a pass is missing, which breaks the moving range."""
    points = [x for x in losses if x is not None]
    centre = fsum(points) / len(points) if points else None
    ranges = [abs(b - a) for a, b in itertools.pairwise(losses) if a is not None and b is not None]
    if len(points) < PROVISIONAL or not ranges:
        return Limits(len(points), centre, None, "none")
    if max(points) == min(points):
        return Limits(len(points), centre, None, "none", flat=True)
    sigma = fsum(ranges) / len(ranges) / D2
    state = "set" if len(points) >= SET else "provisional"
    return Limits(len(points), centre, sigma or None, state if sigma else "none")


def signals(losses: Sequence[float | None], chart: Limits) -> list[tuple[int, int]]:
    """(place in ``losses``, rule 1-4) of every point at which a rule fires; a gap starts the runs anew."""
    if chart.sigma is None or chart.centre is None:
        return []
    found = []
    run: list[float] = []
    for place, loss in enumerate(losses):
        run = [] if loss is None else [*run, (loss - chart.centre) / chart.sigma][-8:]
        found += [(place, rule) for rule, want in enumerate(_RUNS, 1) if run and _fires(run, *want)]
    return found


def _fires(run: Sequence[float], need: int, of: int, beyond: float) -> bool:
    """Whether the last point completes the rule: it lies beyond, and so do enough of those before it."""
    side = 1 if run[-1] > 0 else -1
    window = run[-of:]
    return side * run[-1] > beyond and sum(side * x > beyond for x in window) >= need


@dataclass(frozen=True, slots=True)
class Step:
    """One weighed step for a chart, in order of date: its loss as a share, None where it cannot be known."""

    session: str
    number: int
    date: date
    stage: str
    method: str
    comb: str | None
    loss: float | None


@dataclass(frozen=True, slots=True)
class Signal:
    """A point at which a rule fired. ``grade``: ``signal`` for rule 1, ``look`` for the runs."""

    session: str
    number: int
    rule: int
    grade: str


@dataclass(frozen=True, slots=True)
class Chart:
    """The losses of steps alike since the last change that was marked, their limits, and the rules that fired.

    ``since``: date and words of the change that it starts from, None before the first.
    """

    stage: str
    method: str
    comb: str | None
    since: tuple[date, str] | None
    points: tuple[Step, ...]
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


def charts(steps: Sequence[Step], changes: Mapping[date, str]) -> list[Chart]:
    """A chart for each stage and method, the first stage also by comb kind, begun anew at each change."""
    marks = sorted(changes)
    groups: dict[tuple[str, str, str | None, int], list[Step]] = {}
    for s in steps:
        comb = s.comb if s.stage == "first" else None
        groups.setdefault((s.stage, s.method, comb, bisect_right(marks, s.date)), []).append(s)
    ordered = sorted(groups, key=lambda k: (k[0], k[1], k[2] is None, k[2] or "", k[3]))
    return [
        _chart(key, groups[key], (marks[key[3] - 1], changes[marks[key[3] - 1]]) if key[3] else None) for key in ordered
    ]


def _chart(key: tuple[str, str, str | None, int], steps: list[Step], since: tuple[date, str] | None) -> Chart:
    losses = [s.loss for s in steps]
    found = limits(losses)
    fired = tuple(
        Signal(steps[place].session, steps[place].number, rule, "signal" if rule == 1 else "look")
        for place, rule in signals(losses, found)
    )
    return Chart(*key[:3], since, tuple(steps), found, fired)
