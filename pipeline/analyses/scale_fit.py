"""Whether the book's own differences are larger than its scale is said to make them, and which step would fit them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log10, sqrt

import numpy as np

from pipeline.analyses.distributions import MAD_TO_SD
from pipeline.analyses.step_balance import Balance
from pipeline.analyses.usual_losses import Uncertainty

FEWEST = 12
"""Balances from which the scale is judged: with fewer the scatter of the scatter is too wide. A judgement, no source."""
_LARGER = 2.0
"""Differences so many times what the scale explains are worth a word: a judgement, no source."""
_WEIGHED_TWICE = ("join", "harvest", "cast")


@dataclass(frozen=True, slots=True)
class ScaleFit:
    """Over ``n`` balances, weighings differ by ``typical_g`` each (sd) where the scale says ``said_g``; ``step_g`` would fit."""

    n: int
    typical_g: float
    said_g: float
    step_g: float


def scale_fit(balances: Sequence[Balance], uncertainty: Uncertainty) -> ScaleFit | None:
    """What the weighings that must agree say of the scale; None where it is as honest as can be told."""
    used = [b for b in balances if b.kind in _WEIGHED_TWICE and b.closed and b.weighed and b.in_g > 0 and b.out]
    if len(used) < FEWEST:
        return None
    lost = np.array([b.in_g - b.out_g for b in used])
    size = np.array([b.in_g for b in used])
    number = np.array([len(b.into) + len(b.out) for b in used])
    beyond = lost - float(np.median(lost / size)) * size
    typical = MAD_TO_SD * float(np.median(np.abs(beyond) / np.sqrt(number)))
    weights = [uncertainty(w.log, w.mass_g or 0.0) for b in used for w in (*b.into, *b.out)]
    said = float(np.median(weights))
    return ScaleFit(len(used), typical, said, _round(typical * sqrt(12))) if typical > _LARGER * said else None


def _round(step_g: float) -> float:
    """A step as scales have them: 1, 2 or 5 of a power of ten, not under this one."""
    power = 10.0 ** ceil(log10(step_g) - 1)
    return next(m * power for m in (1, 2, 5, 10) if m * power >= step_g * (1 - 1e-9))
