"""A slip: one thing that may have happened to a weight, of a size that is known or that only the balances can tell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

import numpy as np

from pipeline.analyses.balance_least_squares import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Slip:
    """One thing that may have happened. ``streams``: the columns that it makes worthless, the blamed one first.

    ``kind``: of :data:`typing_slips.PRIOR`, or of a slack ``missing row``, ``rest``, ``odd``. ``along`` (balances,): by
    how much it moves the gaps for a gram; the slips of one weight share it. ``likely_g``: the weight
    meant; ``error_g``: what the stream is too heavy by; ``likely``: the name meant; ``row``: the balance, of all that can
    be checked, into which a wrongly named weight belongs. ``detail``, ``taken_off``, ``coarse_g``: see
    :class:`typing_slips.Candidate`.
    """

    kind: str
    streams: tuple[int, ...]
    prior: float
    along: Floats
    likely_g: float | None = None
    error_g: float = 0.0
    detail: str = ""
    taken_off: bool = False
    likely: str | None = None
    row: int | None = None
    coarse_g: float = 0.0

    @property
    def shift(self) -> Floats:
        """By how much it moves the gaps, g; (balances,)."""
        return self.error_g * self.along


@dataclass(frozen=True, slots=True, eq=False)
class SlipsOfWeight:
    """All slips of known size at one weight, which move the gaps one way: (n,) log priors, errors and coarse steps, g.

    ``made`` gives one of them by its number: of a thousand that are weighed up, few explain anything.
    """

    streams: tuple[int, ...]
    along: Floats
    prior: Floats
    error_g: Floats
    coarse_g: Floats
    made: Callable[[int], Slip]

    @classmethod
    def one(cls, slip: Slip) -> SlipsOfWeight:
        """A slip that stands by itself."""
        prior, error_g, coarse_g = np.array([[slip.prior], [slip.error_g], [slip.coarse_g]])
        return cls(slip.streams, slip.along, prior, error_g, coarse_g, lambda _: slip)


@dataclass(frozen=True, slots=True)
class Open:
    """A slip of unknown size. ``size``: g; even over it, or (``normal``) its sd.

    ``gain``: whether only a positive size makes sense; ``most_g``: the largest that can be; ``mass_g``: the weight that
    would become ``mass_g - size``; ``often``: so common that it is thought of beside every slip; ``likelier``: log odds
    for a size, g, beside the even ones.
    """

    slip: Slip
    size: float
    normal: bool = False
    gain: bool = False
    mass_g: float | None = None
    often: bool = False
    most_g: float = inf
    likelier: Callable[[float], float] | None = None
