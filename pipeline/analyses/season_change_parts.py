"""Why one season's yield differs from another's: other comb, other methods, or other rendering.

Kitagawa (1955) splits a change of a weighted rate in two with averaged weights; the Shapley average over all orders
(Das Gupta 1993) is the same split for any number of factors and leaves no interaction over. Neither says why.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations
from math import factorial, fsum
from typing import TypeVar

F = TypeVar("F")


def shapley(value: Callable[[Sequence[F]], float], before: Sequence[F], after: Sequence[F]) -> tuple[float, ...]:
    """What each factor adds to ``value(after) - value(before)``, averaged over all orders of changing them."""
    steps: list[list[float]] = [[] for _ in before]
    for order in permutations(range(len(before))):
        now = list(before)
        last = value(now)
        for factor in order:
            now[factor] = after[factor]
            new = value(now)
            steps[factor].append(new - last)
            last = new
    return tuple(fsum(s) / factorial(len(before)) for s in steps)


@dataclass(frozen=True, slots=True)
class RenderedGroup:
    """Comb of one kind rendered by one method in one season: what was loaded and the wax won, g."""

    loaded_g: float
    wax_g: float

    @property
    def rate(self) -> float:
        """Wax won per comb loaded."""
        return self.wax_g / self.loaded_g

    def __add__(self, other: RenderedGroup) -> RenderedGroup:
        return RenderedGroup(self.loaded_g + other.loaded_g, self.wax_g + other.wax_g)


Kind = str | None
Season = Mapping[tuple[Kind, Kind], RenderedGroup]
"""What was rendered in a season, by (comb kind, method); None: not logged."""


@dataclass(frozen=True, slots=True)
class KindPart:
    """One comb kind's part of a change: its shares of the comb loaded, and what it moved by mix and by rate.

    ``mix`` is measured from the mean yield, so a kind above it that grew counts up. ``borrowed``: the kind stands in
    one of the two seasons only and its rate there was taken for both.
    """

    comb: Kind
    share_from: float
    share_to: float
    mix: float
    rate: float
    borrowed: bool


@dataclass(frozen=True, slots=True)
class Split:
    """A change of yield in parts. ``total`` = ``mix`` + ``rate`` = ``comb`` + ``method`` + ``rendering``."""

    total: float
    mix: float
    rate: float
    comb: float
    method: float
    rendering: float
    kinds: tuple[KindPart, ...]

    @property
    def borrowed(self) -> tuple[Kind, ...]:
        """The comb kinds whose rate had to be borrowed from the other season."""
        return tuple(k.comb for k in self.kinds if k.borrowed)


def by_comb(season: Season) -> dict[Kind, RenderedGroup]:
    """A season's comb kinds, methods taken together."""
    total: dict[Kind, RenderedGroup] = {}
    for (comb, _), part in season.items():
        total[comb] = total.get(comb, RenderedGroup(0.0, 0.0)) + part
    return total


def split(before: Season, after: Season) -> Split | None:
    """The change of yield from one season to the next; None where either rendered no comb."""
    if not all(sum(p.loaded_g for p in s.values()) > 0 for s in (before, after)):
        return None
    kinds = _kinds(by_comb(before), by_comb(after))
    total = _yield(after) - _yield(before)
    comb, method, rendering = shapley(_from_factors, _factors(before, after), _factors(after, before))
    return Split(total, fsum(k.mix for k in kinds), fsum(k.rate for k in kinds), comb, method, rendering, kinds)


def _yield(season: Season) -> float:
    return fsum(p.wax_g for p in season.values()) / fsum(p.loaded_g for p in season.values())


def _kinds(before: Mapping[Kind, RenderedGroup], after: Mapping[Kind, RenderedGroup]) -> tuple[KindPart, ...]:
    """Kitagawa by comb kind; the kinds in order of name, those not logged last."""
    loaded = [fsum(p.loaded_g for p in s.values()) for s in (before, after)]
    level = fsum(_yield({(k, None): p for k, p in s.items()}) for s in (before, after)) / 2
    parts = []
    for kind in in_order(before.keys() | after.keys()):
        old, new = _rates(before.get(kind), after.get(kind))
        was, now = (s[kind].loaded_g / t if kind in s else 0.0 for s, t in zip((before, after), loaded, strict=True))
        borrowed = not (_there(before.get(kind)) and _there(after.get(kind)))
        mix = (now - was) * ((old + new) / 2 - level)
        parts.append(KindPart(kind, was, now, mix, (new - old) * (was + now) / 2, borrowed))
    return tuple(parts)


def in_order(kinds: set[Kind]) -> list[Kind]:
    """Names in order, what was not logged last."""
    return sorted(kinds, key=lambda k: (k is None, k or ""))


def _there(part: RenderedGroup | None) -> bool:
    return part is not None and part.loaded_g > 0


def _rates(before: RenderedGroup | None, after: RenderedGroup | None) -> tuple[float, float]:
    """Both seasons' rates; a season without the kind borrows the other's."""
    rates = [p.rate if p is not None and p.loaded_g > 0 else None for p in (before, after)]
    known = [r for r in rates if r is not None]
    return (known[0], known[-1]) if known else (0.0, 0.0)


def _factors(season: Season, other: Season) -> list[dict[Hashable, float]]:
    """Shares of comb kinds, of methods within each kind, and rates of each pair; gaps filled from the other season."""
    mine, theirs = by_comb(season), by_comb(other)
    total = fsum(p.loaded_g for p in mine.values())
    pairs = season.keys() | other.keys()
    shares: dict[Hashable, float] = {c: mine[c].loaded_g / total if c in mine else 0.0 for c, _ in pairs}
    methods: dict[Hashable, float] = {}
    for comb, method in pairs:
        here, whole = (season, mine) if _there(mine.get(comb)) else (other, theirs)
        cell = here.get((comb, method))
        methods[comb, method] = cell.loaded_g / whole[comb].loaded_g if cell and _there(cell) else 0.0
    rates: dict[Hashable, float] = {p: _rates(season.get(p), other.get(p))[0] for p in pairs}
    return [shares, methods, rates]


def _from_factors(factors: Sequence[dict[Hashable, float]]) -> float:
    shares, methods, rates = factors
    return fsum(shares[pair[0]] * methods[pair] * rates[pair] for pair in methods)  # type: ignore[index]
