"""What wax loses when it is refined in a session of its own: log-normal, about what passes usually lose."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import log

import numpy as np
import numpy.typing as npt

from pipeline.analyses.yield_model import Posterior, posterior
from pipeline.analyses.yield_priors import TEN_TO_NINETY_SIGMAS

USUAL_LOSS = (0.01, 0.06)  # of a refining pass, read as 10 and 90 %: common practice, no source
NOISE_SD, NOISE_WEIGHT = 0.5, 2.0  # of single sessions in log loss, and how many sessions that is worth: a judgement
LEAST_LOSS, MOST_LOSS = 0.002, 0.5  # what a scale can make of nothing, and what is no refining any more


@dataclass(frozen=True, slots=True, eq=False)
class Refining:
    """The log loss of this book's refinings after those seen; ``own``: how many there are."""

    centre: float
    fitted: Posterior
    own: int

    @classmethod
    def of(cls, seen: Iterable[tuple[float, float]]) -> Refining:
        """From wax in and wax out (g) of each session that refined wax alone."""
        losses = [1 - out_g / in_g for in_g, out_g in seen if in_g]
        low, high = (log(loss) for loss in USUAL_LOSS)
        centre, book_sd = (low + high) / 2, (high - low) / TEN_TO_NINETY_SIGMAS
        z = np.log(np.clip(np.array(losses, float), LEAST_LOSS, MOST_LOSS)) - centre
        precision = np.array([NOISE_SD**2 / book_sd**2])
        return cls(centre, posterior(np.ones((len(z), 1)), z, precision, NOISE_WEIGHT, NOISE_SD), len(z))

    def yields(self, days: Sequence[date], rng: np.random.Generator, count: int) -> npt.NDArray[np.float64]:
        """Wax out per wax in (draw, lot): what waits for one day goes into one session, and shares its loss."""
        noise = self.fitted.scale * np.sqrt(self.fitted.df / rng.chisquare(self.fitted.df, count))
        level = self.centre + self.fitted.mean[0] + noise * np.sqrt(self.fitted.cov[0, 0]) * rng.standard_normal(count)
        by_day = {day: level + noise * rng.standard_normal(count) for day in sorted(set(days))}
        logs = np.column_stack([by_day[day] for day in days]) if days else np.zeros((count, 0))
        return np.asarray(1 - np.exp(np.minimum(logs, log(MOST_LOSS))))
