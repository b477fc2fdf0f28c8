"""What comb counted in frames weighs: log-normal about the book's own grams per frame, else about a judged range."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
import numpy.typing as npt

from pipeline.analyses.yield_priors import TEN_TO_NINETY_SIGMAS

Array = npt.NDArray[np.float64]
SCATTER_SD, SCATTER_WEIGHT = 0.20, 2.0
"""How harvests of one kind scatter in log grams per frame, and how many harvests that is worth: a judgement."""


@dataclass(frozen=True, slots=True)
class Counted:
    """Comb that was counted, not weighed: its frames, and what of it was loaded since, g."""

    frames: float
    loaded_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Each:
    """The middle of a kind's grams per frame, and how far a book's own may lie from it, in logs.

    ``own``: harvests of this book that it rests on; 0: the shipped range.
    """

    grams: float
    own: int
    range_sd: float


@dataclass(frozen=True, slots=True)
class FrameWeights:
    """Grams per frame by kind of comb, and the scatter of single harvests: scaled inverse chi squared in logs."""

    each: Mapping[str, Each]
    scatter_sd: float
    df: float

    @classmethod
    def of(
        cls, weighed: Iterable[tuple[str, float, float]], ranges: Iterable[tuple[str, float, float]]
    ) -> FrameWeights:
        """From harvests both counted and weighed (kind, frames, g) and shipped ranges (kind, low, high g a frame)."""
        each = {comb: Each(sqrt(low * high), 0, log(high / low) / TEN_TO_NINETY_SIGMAS) for comb, low, high in ranges}
        own: dict[str, list[tuple[float, float]]] = defaultdict(list)
        for comb, frames, mass_g in weighed:
            own[comb].append((frames, mass_g))
        squares, df = SCATTER_WEIGHT * SCATTER_SD**2, SCATTER_WEIGHT
        for comb, harvests in own.items():
            logs = np.log([mass_g / frames for frames, mass_g in harvests])
            squares, df = squares + float(((logs - logs.mean()) ** 2).sum()), df + len(logs) - 1
            ratio = sum(mass_g for _, mass_g in harvests) / sum(frames for frames, _ in harvests)
            each[comb] = Each(ratio, len(harvests), 0.0)
        return cls(each, sqrt(squares / df), df)

    def grams(self, comb: str) -> Each:
        """What a frame of this kind weighs; of a kind that nothing is known of the widest range."""
        return self.each.get(comb) or max(self.each.values(), key=lambda e: e.range_sd)

    def draws(self, combs: Sequence[str], rng: np.random.Generator, count: int) -> Array:
        """Grams per frame (draw, lot): a kind's own level is shared by its lots, every lot has its scatter (s²/n and s²)."""
        scatter = self.scatter_sd * np.sqrt(self.df / rng.chisquare(self.df, count))
        levels = {comb: self._level(self.grams(comb), scatter, rng) for comb in dict.fromkeys(combs)}
        columns = [levels[comb] + scatter * rng.standard_normal(count) for comb in combs]
        return np.exp(np.column_stack(columns)) if columns else np.zeros((count, 0))

    @staticmethod
    def _level(each: Each, scatter: Array, rng: np.random.Generator) -> Array:
        away = scatter / sqrt(each.own) if each.own else each.range_sd
        return np.asarray(log(each.grams) + away * rng.standard_normal(len(scatter)))

    def upto(self, comb: str) -> tuple[float, float]:
        """The range that the draws of one frame's grams mostly lie in, for a note: 10 and 90 %, the scatter left out."""
        each = self.grams(comb)
        reach = exp(TEN_TO_NINETY_SIGMAS / 2 * each.range_sd)
        return each.grams / reach, each.grams * reach
