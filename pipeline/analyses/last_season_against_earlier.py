"""Whether the last season's shares differ from those before it, things alike compared with things alike.

Shares are taken as log odds. Within each kind (of comb and method, or of pass) the last season's sessions are held against all
earlier ones; the differences are pooled by how sure they are and judged by Student's t with sum(n - 1) degrees of freedom.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from math import sqrt

from pipeline.analyses.distributions import t_below, t_quantile


@dataclass(frozen=True, slots=True)
class Sums:
    """Sessions of one kind in one season: how many, the sums of their log odds, of the squares, and of their shares."""

    kind: Hashable
    season: str
    n: int
    odds: float
    odds2: float
    shares: float

    def __add__(self, other: Sums) -> Sums:
        odds, odds2 = self.odds + other.odds, self.odds2 + other.odds2
        return Sums(self.kind, self.season, self.n + other.n, odds, odds2, self.shares + other.shares)

    @property
    def squares(self) -> float:
        """Sum of squares about the mean."""
        return max(self.odds2 - self.odds**2 / self.n, 0.0)


@dataclass(frozen=True, slots=True)
class Shift:
    """By how much the last season's share lies over the earlier ones', with its 95 % interval; ``t`` and its ``df``."""

    season: str
    share: float
    low: float
    high: float
    t: float
    df: int
    p: float


def shift(sums: Iterable[Sums]) -> Shift | None:
    """The last season against all before it; None where nothing alike stands on both sides, or nothing scatters."""
    rows = [s for s in sums if s.n > 0]
    last = max((s.season for s in rows), key=int, default="")
    sides: dict[Hashable, dict[bool, Sums]] = defaultdict(dict)
    for s in rows:
        side = sides[s.kind]
        now = s.season == last
        side[now] = side[now] + s if now in side else s
    parts = [part for side in sides.values() for part in side.values()]
    df, squares = sum(p.n - 1 for p in parts), sum(p.squares for p in parts)
    both = [(side[True], side[False]) for side in sides.values() if len(side) == 2]
    return _judged(last, both, df, sqrt(squares / df)) if both and squares > 1e-12 else None


def _judged(last: str, both: list[tuple[Sums, Sums]], df: int, sd: float) -> Shift:
    weights = [a.n * b.n / (a.n + b.n) for a, b in both]
    total = sum(weights)
    odds = sum(w * (a.odds / a.n - b.odds / b.n) for w, (a, b) in zip(weights, both, strict=True)) / total
    share = sum(w * (a.shares / a.n - b.shares / b.n) for w, (a, b) in zip(weights, both, strict=True)) / total
    means = [(a.shares + b.shares) / (a.n + b.n) for a, b in both]
    per_odds = sum(w * y * (1 - y) for w, y in zip(weights, means, strict=True)) / total
    u = sd / sqrt(total)
    reach = t_quantile(0.975, df) * u * per_odds
    return Shift(last, share, share - reach, share + reach, odds / u, df, 2 * t_below(-abs(odds / u), df))
