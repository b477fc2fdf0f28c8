"""What wax share of its mass a kind of comb is expected to give before the book has shown its own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import log

TEN_TO_NINETY_SIGMAS = 2.563  # a range read as the 10 % and 90 % points of a normal is this many sigmas wide


def logit(share: float) -> float:
    """The log odds of a share; 0 and 1 have none."""
    return log(share / (1 - share))


@dataclass(frozen=True, slots=True)
class Prior:
    """A judged range of the share of comb mass won as wax; ``method`` None: by any method."""

    comb: str
    method: str | None
    low: float
    high: float

    @property
    def centre(self) -> float:
        """The middle of the range, in log odds."""
        return (logit(self.low) + logit(self.high)) / 2

    @property
    def sd(self) -> float:
        """The standard deviation in log odds, the range read as 10 % to 90 %."""
        return (logit(self.high) - logit(self.low)) / TEN_TO_NINETY_SIGMAS


@dataclass(frozen=True)
class Priors:
    """All ranges that are known; where a kind or a method is missing the next wider one answers."""

    rows: tuple[Prior, ...]

    @classmethod
    def of(cls, rows: Iterable[Prior]) -> Priors:
        """In a fixed order, so that the order of a file never matters."""
        return cls(tuple(sorted(rows, key=lambda r: (r.comb, r.method or "", r.low, r.high))))

    def known(self, comb: str) -> bool:
        """Whether any range is given for this kind of comb."""
        return comb in self._by_kind

    def centre(self, comb: str, method: str | None) -> float:
        """The expected log odds of the yield of this kind by this method."""
        kind = self._kind(comb)
        rows = [r for r in kind if r.method == method] or [r for r in kind if r.method is None] or kind
        return sum(r.centre for r in rows) / len(rows)

    def sd(self, comb: str) -> float:
        """How far a book's own yield of this kind may lie from the centre, in log odds."""
        return max(r.sd for r in self._kind(comb))

    def methods(self, comb: str) -> tuple[str | None, ...]:
        """The methods that this kind has ranges for; None where one range stands for all."""
        return tuple(dict.fromkeys(r.method for r in self._kind(comb)))

    def _kind(self, comb: str) -> list[Prior]:
        """The rows of a kind; of an unknown kind the widest row there is."""
        return self._by_kind.get(comb) or [max(self.rows, key=lambda r: r.sd)]

    @cached_property
    def _by_kind(self) -> dict[str, list[Prior]]:
        kinds: dict[str, list[Prior]] = {}
        for r in self.rows:
            kinds.setdefault(r.comb, []).append(r)
        return kinds
