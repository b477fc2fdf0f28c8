"""Whether the book's own weighings are coarser than its scale is said to be, and which step would fit them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, log, sqrt

import numpy as np

from pipeline.analyses.distributions import MAD_TO_SD
from pipeline.analyses.step_balance import Balance, Weight
from pipeline.analyses.usual_losses import Uncertainty

FEWEST = 12
"""Balances from which the scale is judged: with fewer the scatter of the scatter is too wide. A judgement, no source."""
_LARGER = 2.0
"""Differences, or a step, so many times what the scale explains are worth a word: a judgement, no source."""
_WEIGHED_TWICE = ("join", "harvest", "cast")
_STEPS_G = tuple(m * 10.0**k for k in range(-1, 4) for m in (1, 2, 5))
"""Steps as scales have them, g."""
_READ = 0.95
"""Share of the weights on a coarser step from which the scale is taken to read in it; the rest are slips: a judgement."""


@dataclass(frozen=True, slots=True)
class ScaleFit:
    """Over ``n`` balances, weighings differ by ``typical_g`` each (sd) where the scale says ``said_g``; ``step_g`` would fit.

    ``read``: the weights themselves stand on that step.
    """

    n: int
    typical_g: float
    said_g: float
    step_g: float
    read: bool = False


def scale_fit(balances: Sequence[Balance], uncertainty: Uncertainty) -> ScaleFit | None:
    """What the weighings that must agree say of the scale; None where it is as honest as can be told."""
    used = [b for b in balances if b.kind in _WEIGHED_TWICE and b.closed and b.weighed and b.in_g > 0 and b.out]
    if len(used) < FEWEST:
        return None
    weights = list(dict.fromkeys(w for b in used for w in (*b.into, *b.out)))
    step_sd = float(np.median([uncertainty(w.log, 0.0) for w in weights]))
    said = float(np.median([uncertainty(w.log, w.mass_g or 0.0) for w in weights]))
    typical, read = _typical(used), _read_in(weights)
    if read > _LARGER * step_sd * sqrt(12) and typical <= _LARGER * hypot(read, said):
        return ScaleFit(len(used), max(typical, read / sqrt(12)), step_sd, read, read=True)
    return ScaleFit(len(used), typical, said, _nearest(typical * sqrt(12))) if typical > _LARGER * said else None


def as_shown(uncertainty: Uncertainty, fit: ScaleFit | None) -> Uncertainty:
    """What slips are reckoned with: the scale as it is said to be, or as coarse as the book shows it."""
    if fit is None:
        return uncertainty
    return lambda log, mass_g: hypot(uncertainty(log, mass_g), fit.typical_g)


def _typical(used: Sequence[Balance]) -> float:
    """The standard deviation of one weighing, g: by the kind of step that differs least, as the scale's error shows in each.

    What is spilt or left in a pot shows in some of them only.
    """
    by_kind = [[b for b in used if b.kind == kind] for kind in _WEIGHED_TWICE]
    return min(_differ(here) for here in by_kind if len(here) >= min(FEWEST, max(map(len, by_kind))))


def _differ(here: Sequence[Balance]) -> float:
    lost, size = np.array([b.in_g - b.out_g for b in here]), np.array([b.in_g for b in here])
    number = np.array([len(b.into) + len(b.out) for b in here])
    beyond = lost - float(np.median(lost / size)) * size
    return MAD_TO_SD * float(np.median(np.abs(beyond) / np.sqrt(number)))


def _read_in(weights: Sequence[Weight]) -> float:
    """The coarsest step on which the weights stand, g; 0 where there is none."""
    masses = np.array([w.mass_g for w in weights])
    on = [s for s in _STEPS_G if (np.abs(masses / s - np.round(masses / s)) < 1e-6).mean() >= _READ]
    return max(on, default=0.0)


def _nearest(step_g: float) -> float:
    """The step that scales have which comes nearest."""
    return min(_STEPS_G, key=lambda s: abs(log(s / step_g)))
