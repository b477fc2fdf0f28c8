"""How a waiting lot will be melted, and whether its wax will be refined later: drawn from what the book did lately."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from pipeline.analyses.yield_model import Ints, RenderedLot
from pipeline.analyses.yield_priors import Priors

LATELY = 10  # how many sessions of a kind back "lately" reaches
UNSEEN = 0.5  # added to every count, so that few sessions leave doubt (Jeffreys)

Ways = tuple[tuple[str | None, int], ...]
"""Methods, most used first, and how many of the latest sessions each had."""


def lately(sessions: Sequence[RenderedLot], comb: str) -> list[RenderedLot]:
    """The last sessions of this kind, or of any where this kind was never rendered; ``sessions`` in order of date."""
    return ([s for s in sessions if s.comb == comb] or list(sessions))[-LATELY:]


def ways(sessions: Sequence[RenderedLot], comb: str, priors: Priors) -> Ways:
    """The methods that this kind may go through: those of its latest sessions, before any session all that are known."""
    used = Counter(s.method for s in lately(sessions, comb)[::-1] if s.method)
    return tuple(used.most_common()) or tuple((method, 0) for method in priors.methods(comb))


def drawn(known: Ways, lots: int, rng: np.random.Generator, count: int) -> Ints:
    """The place among ``known`` of each lot's method (draw, lot): Dirichlet over counts + 1/2, shared by the lots."""
    shares = rng.dirichlet([n + UNSEEN for _, n in known], count).cumsum(axis=1)[:, None, :-1]
    return np.asarray((rng.random((count, lots, 1)) > shares).sum(axis=2))


def refined_later(
    sessions: Sequence[RenderedLot], comb: str, lots: int, rng: np.random.Generator, count: int
) -> npt.NDArray[np.bool_]:
    """Whether each lot's wax goes into a refining session of its own (draw, lot); never where it never did."""
    done = [s.refined_later for s in lately(sessions, comb)]
    if not any(done):
        return np.zeros((count, lots), bool)
    chance = rng.beta(sum(done) + UNSEEN, len(done) - sum(done) + UNSEEN, count)
    return np.asarray(rng.random((count, lots)) < chance[:, None])
