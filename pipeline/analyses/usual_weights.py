"""How large the weights of each column are in a book: what may have been meant is weighed by it too."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log, log1p, sqrt

import numpy as np

from pipeline.analyses.balance_least_squares import Floats
from pipeline.analyses.distributions import MAD_TO_SD
from pipeline.analyses.step_balance import Weight

_FEWEST = 6
"""Weights of a column from which its usual size is known: a judgement, no source."""
_SPREAD, _WORTH = 0.8, 2
"""Scatter of the logs of like weights before the book shows its own, and how many weights that is worth: a judgement."""
_TAIL = 4
"""Degrees of freedom of the t that such logs follow: sizes far off are rare, and not out of the question."""
_PEAK = log(3 / 8)
"""The log of that t's density at its middle."""


@dataclass(frozen=True, slots=True)
class UsualSizes:
    """By log and column: the middle of the logs of its weights, and their scatter."""

    columns: Mapping[tuple[str, str], tuple[float, float]]

    @classmethod
    def of(cls, weights: Sequence[Weight]) -> UsualSizes:
        """Of all weights of a book."""
        logs: dict[tuple[str, str], list[float]] = defaultdict(list)
        for w in weights:
            if w.mass_g:
                logs[w.log, w.column].append(log(w.mass_g))
        return cls({column: _usual(np.array(found)) for column, found in logs.items() if len(found) >= _FEWEST})

    def likelier(self, w: Weight, meant_g: Floats) -> Floats:
        """By how much (log odds) a weight is likelier to be each of ``meant_g`` (n,), above zero, than what was typed; (n,)."""
        if (w.log, w.column) not in self.columns or not w.mass_g:
            return np.zeros(len(meant_g))
        middle, spread = self.columns[w.log, w.column]
        typed = (log(w.mass_g) - middle) / spread
        meant = (np.log(meant_g) - middle) / spread
        return np.asarray((_TAIL + 1) / 2 * (log1p(typed**2 / _TAIL) - np.log1p(meant**2 / _TAIL)), np.float64)

    def density(self, of_log: str, mass_g: float, even_g: float) -> float:
        """By how much (log odds) a row of a log is likelier to weigh so much than any mass up to ``even_g``."""
        if (of_log, "mass") not in self.columns or mass_g <= 0:
            return 0.0
        middle, spread = self.columns[of_log, "mass"]
        t = (log(mass_g) - middle) / spread
        return _PEAK - (_TAIL + 1) / 2 * log1p(t**2 / _TAIL) + log(even_g / (spread * mass_g))


def _usual(logs: np.ndarray) -> tuple[float, float]:
    middle = float(np.median(logs))
    spread = MAD_TO_SD * float(np.median(np.abs(logs - middle)))
    return middle, sqrt((_WORTH * _SPREAD**2 + len(logs) * spread**2) / (_WORTH + len(logs)))
