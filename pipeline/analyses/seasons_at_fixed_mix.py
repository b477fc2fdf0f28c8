"""Whether rendering gets better or worse: season by season, at a fixed comb mix, with every change split in parts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import fsum, sqrt

from pipeline.analyses.distributions import t_quantile
from pipeline.analyses.season_change_parts import Kind, RenderedGroup, Split, by_comb, split
from pipeline.analyses.season_slope import FittedLine, least_squares, theil_sen

NOTICED = 0.0005
"""Changes under a twentieth of a point are printed as none."""


@dataclass(frozen=True, slots=True)
class Won:
    """What comb of one kind gave in the end, rendered by one method in one season; masses in g.

    For more than one session: ``sessions`` that loaded comb, the sum of their squared masses ``loaded_g2``, and the
    sums of their yields and squared yields; all four follow by themselves for a single session.
    """

    season: str
    comb: Kind
    method: Kind
    loaded_g: float
    wax_g: float
    sessions: int = 1
    loaded_g2: float | None = None
    yields: float | None = None
    yields2: float | None = None

    @property
    def sums(self) -> tuple[int, float, float, float, float]:
        """Sessions, comb loaded (over 0), its squares, yields and their squares."""
        rate = self.wax_g / self.loaded_g
        alone = (self.loaded_g**2, rate, rate**2)
        given = (self.loaded_g2, self.yields, self.yields2)
        squares, rates, rates2 = (a if g is None else g for a, g in zip(alone, given, strict=True))
        return self.sessions, self.loaded_g, squares, rates, rates2


@dataclass(frozen=True, slots=True)
class SeasonRow:
    """One season: yield raw and at the book's own fixed comb mix, and the refining loss; shares, None: not known.

    ``borrowed``: comb kinds not rendered in it, whose rate in all other seasons was taken.
    """

    season: str
    yield_share: float | None
    yield_fixed_mix: float | None
    borrowed: tuple[Kind, ...]
    loss: float | None


@dataclass(frozen=True, slots=True)
class Change:
    """The change of yield between two seasons in parts, and how much the rate scatters by itself (standard uncertainty)."""

    before: str
    after: str
    split: Split
    rate_u: float | None
    df: int = 0
    claimed: bool = False

    @property
    def total(self) -> float:
        """The whole change."""
        return self.split.total

    @property
    def mix(self) -> float:
        """What came with other comb."""
        return self.split.mix

    @property
    def rate(self) -> float:
        """What came with other rendering."""
        return self.split.rate

    @property
    def inside_scatter(self) -> bool | None:
        """Whether the rendering's own part is within what sessions scatter, 95 %; None where too few sessions tell."""
        return None if self.rate_u is None else abs(self.split.rate) <= t_quantile(0.975, self.df) * self.rate_u


@dataclass(frozen=True, slots=True)
class Seasons:
    """All seasons with the slope through them (of the yield at fixed mix) and every change between neighbours.

    ``whole``: the change from the first season to the last, where there are more than two. ``claims``: the kinds of change
    that the whole trend claims, which alone may be told as changes.
    """

    rows: tuple[SeasonRow, ...]
    slope: FittedLine | None
    least_squares: FittedLine | None
    changes: tuple[Change, ...]
    whole: Change | None
    claims: frozenset[str] = frozenset()

    def claiming(self, kinds: frozenset[str]) -> Seasons:
        """The same, knowing what is claimed; a claim on the season is one on the last change."""
        last = tuple(replace(c, claimed="season" in kinds) for c in self.changes[-1:])
        return replace(self, changes=(*self.changes[:-1], *last), claims=kinds)


def seasons(won: Sequence[Won], raw: Mapping[str, float | None], losses: Mapping[str, float | None]) -> Seasons:
    """The seasons' trend. ``raw``: yield by season; ``losses``: refining loss by season, shares."""
    by_season: dict[str, dict[tuple[Kind, Kind], RenderedGroup]] = defaultdict(dict)
    for w in won:
        cell = by_season[w.season].get((w.comb, w.method), RenderedGroup(0.0, 0.0))
        by_season[w.season][w.comb, w.method] = cell + RenderedGroup(w.loaded_g, w.wax_g)
    fixed = _fixed_mix(by_season)
    names = sorted(raw.keys() | losses.keys() | by_season.keys(), key=int)
    rows = tuple(_row(n, raw.get(n), fixed.get(n), losses.get(n)) for n in names)
    points = [(int(r.season), r.yield_fixed_mix) for r in rows if r.yield_fixed_mix is not None]
    years, shares = [float(y) for y, _ in points], [s for _, s in points]
    with_comb = [n for n in names if sum(p.loaded_g for p in by_season.get(n, {}).values()) > 0]
    scatter = _Scatter.of(won)
    changes = tuple(c for a, b in pairwise(with_comb) if (c := _change(a, b, by_season, scatter)))
    whole = _change(with_comb[0], with_comb[-1], by_season, scatter) if len(with_comb) > 2 else None
    return Seasons(rows, theil_sen(years, shares), least_squares(years, shares), changes, whole)


def _row(season: str, raw: float | None, fixed: tuple[float, tuple[Kind, ...]] | None, loss: float | None) -> SeasonRow:
    rate, borrowed = fixed or (None, ())
    return SeasonRow(season, raw, rate, borrowed, loss)


def _fixed_mix(
    by_season: Mapping[str, Mapping[tuple[Kind, Kind], RenderedGroup]],
) -> dict[str, tuple[float, tuple[Kind, ...]]]:
    """Each season's yield if its comb had been the mix of all seasons together, and the kinds whose rate it borrowed."""
    pooled: dict[Kind, RenderedGroup] = {}
    for season in by_season.values():
        for comb, part in by_comb(season).items():
            pooled[comb] = pooled.get(comb, RenderedGroup(0.0, 0.0)) + part
    pooled = {comb: part for comb, part in pooled.items() if part.loaded_g > 0}
    total = fsum(p.loaded_g for p in pooled.values())
    found = {}
    for name, season in by_season.items():
        own = {comb: part for comb, part in by_comb(season).items() if part.loaded_g > 0}
        if own:
            rate = fsum(p.loaded_g / total * own.get(comb, p).rate for comb, p in pooled.items())
            found[name] = (rate, tuple(c for c in pooled if c not in own))
    return found


def _change(
    since: str, to: str, by_season: Mapping[str, Mapping[tuple[Kind, Kind], RenderedGroup]], scatter: _Scatter
) -> Change | None:
    found = split(by_season[since], by_season[to])
    if found is None:
        return None
    return Change(since, to, found, scatter.rate_u(found, since, to), scatter.df)


@dataclass(frozen=True, slots=True)
class _Scatter:
    """How sessions of one kind scatter within a season: s² pooled over all seasons and kinds, None of too few sessions.

    ``sizes``: how many sessions a rate is worth by (season, kind); sessions of mass m are n = (Σm)²/Σm².
    """

    s2: float | None
    df: int
    sizes: Mapping[tuple[str, Kind], float]

    @classmethod
    def of(cls, won: Sequence[Won]) -> _Scatter:
        groups: dict[tuple[str, Kind], list[Won]] = defaultdict(list)
        for w in won:
            if w.loaded_g > 0:
                groups[w.season, w.comb].append(w)
        free, squares = 0, 0.0
        sizes: dict[tuple[str, Kind], float] = {}
        for key, ws in groups.items():
            n, loaded, loaded2, rates, rates2 = (fsum(column) for column in zip(*(w.sums for w in ws), strict=True))
            free, squares = free + int(n) - 1, squares + max(rates2 - rates**2 / n, 0.0)
            sizes[key] = loaded**2 / loaded2
        return cls(squares / free if free >= 2 else None, free, sizes)

    def rate_u(self, found: Split, since: str, to: str) -> float | None:
        """Standard uncertainty of the rate part of a change."""
        if self.s2 is None:
            return None
        total = 0.0
        for k in found.kinds:
            if not k.borrowed:
                share = (k.share_from + k.share_to) / 2
                total += share**2 * (1 / self.sizes[since, k.comb] + 1 / self.sizes[to, k.comb])
        return sqrt(self.s2 * total)
