"""The wax still to come: comb not yet rendered and wax set aside, as joint draws over all lots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from pipeline.analyses.yield_model import Interval, Rendered, YieldModel, fit, usable
from pipeline.analyses.yield_priors import Priors

DRAWS = 10_000
SEED = 20_250_814  # fixed, so that the same book gives the same numbers
LATELY = 10  # how many sessions back "lately" reaches
USUAL_REFINING_YIELD = 0.965  # passes lose 1-6 %: common practice, no source
TAILS = (0.1, 0.5, 0.9)
MANY = 300  # lots beyond which those of one kind and day are drawn as one: wider, never narrower


@dataclass(frozen=True, slots=True)
class Lot:
    """Something that will give wax: a harvest of a kind of comb, or (``comb`` None) wax set aside of a session."""

    source: str
    comb: str | None
    mass_g: float
    ready: date | None = None


@dataclass(frozen=True, slots=True)
class LotForecast:
    """What one lot is expected to give, in grams of wax, from which day on and by which method."""

    lot: Lot
    method: str | None
    ready: date
    low_g: float
    mid_g: float
    high_g: float


@dataclass(frozen=True, slots=True, eq=False)
class Pending:
    """All wax to come: one forecast per lot, the joint draws (draw, lot) in grams, and what must be said of them."""

    lots: tuple[LotForecast, ...]
    draws_g: npt.NDArray[np.float64]
    refining_yield: float
    notes: tuple[str, ...]

    def total_g(self) -> npt.NDArray[np.float64]:
        """One total per draw."""
        return np.asarray(self.draws_g.sum(axis=1))

    def total(self) -> Interval:
        """Low, mid and high of all of it together."""
        return middle(self.total_g())


def middle(draws: npt.NDArray[np.float64]) -> Interval:
    """The 10, 50 and 90 % points, each a value that was drawn, so that counts stay whole."""
    low, mid, high = np.quantile(draws, TAILS, method="inverted_cdf")
    return Interval(float(low), float(mid), float(high))


def method_lately(sessions: Sequence[Rendered], comb: str) -> str | None:
    """The method that this kind of comb went through most in its last sessions; else any comb; else None.

    Of two used equally often the one used last counts.
    """
    of_kind = [s.method for s in sessions if s.comb == comb and s.method]
    used = (of_kind or [s.method for s in sessions if s.method])[-LATELY:][::-1]
    return Counter(used).most_common(1)[0][0] if used else None


def refining_yield(mass_in_g: float, wax_out_g: float) -> float | None:
    """Wax out of wax in over all refining passes; None where there were none."""
    return wax_out_g / mass_in_g if mass_in_g > 0 else None


def expected(
    lots: Iterable[Lot], sessions: Iterable[Rendered], priors: Priors, refined: float | None, today: date
) -> Pending:
    """Draw the wax of all lots together. ``refined``: the book's own refining yield, None where it has none."""
    seen = usable(s for s in sessions if s.date <= today)
    waiting = _few(sorted((_waiting(lot, today) for lot in lots if lot.mass_g > 0), key=lambda w: w.source))
    comb = [w for w in waiting if w.comb is not None]
    sorts = [(w.comb or "", method_lately(seen, w.comb or "")) for w in comb]
    model = fit(seen, priors, sorts)
    share = USUAL_REFINING_YIELD if refined is None else refined
    drawn = np.full((DRAWS, len(waiting)), share)
    columns = [i for i, w in enumerate(waiting) if w.comb is not None]
    drawn[:, columns] = model.draws(sorts, np.random.default_rng(SEED), DRAWS)
    draws_g = drawn * np.array([w.mass_g for w in waiting])
    methods = dict(zip(columns, (m for _, m in sorts), strict=True))
    told = tuple(_told(w, methods.get(i), draws_g[:, i], today) for i, w in enumerate(waiting))
    return Pending(told, draws_g, share, _notes(waiting, model, priors, refined, today))


def _waiting(lot: Lot, today: date) -> Lot:
    """A lot whose day has passed is there today; one without a day keeps None, so that it can be said."""
    return lot if lot.ready is None else replace(lot, ready=max(lot.ready, today))


def _few(lots: list[Lot]) -> list[Lot]:
    """The lots as they are, or of very many one per kind and day, so that the draws stay in memory."""
    if len(lots) <= MANY:
        return lots
    groups: dict[tuple[str | None, date | None], list[Lot]] = {}
    for lot in lots:
        groups.setdefault((lot.comb, lot.ready), []).append(lot)
    return [
        replace(g[0], source=f"{len(g)} lots from {g[0].source}", mass_g=sum(lot.mass_g for lot in g))
        for g in groups.values()
    ]


def _told(lot: Lot, method: str | None, draws_g: npt.NDArray[np.float64], today: date) -> LotForecast:
    m = middle(draws_g)
    return LotForecast(lot, method, lot.ready or today, m.low, m.mid, m.high)


def _notes(
    lots: Sequence[Lot], model: YieldModel, priors: Priors, refined: float | None, today: date
) -> tuple[str, ...]:
    notes = []
    combs = sorted({w.comb for w in lots if w.comb is not None})
    if not lots:
        return ("no comb is pending and no wax is set aside: certain by the ledger",)
    if combs and not model.sessions:
        notes.append("no session has been rendered yet: the forecast rests on published ranges alone")
    notes += [f"nothing is published on {k!r}: the widest range stands in for it" for k in combs if not priors.known(k)]
    undated = [w.source for w in lots if w.comb is not None and w.ready is None]
    if undated:
        notes.append(f"no wax_expected for {', '.join(undated)}: counted as there on {today.isoformat()}")
    if refined is None and any(w.comb is None for w in lots):
        notes.append(f"no refining pass weighed yet: wax set aside counted at {share_text(USUAL_REFINING_YIELD)}")
    if model.lost:
        notes.append(f"{model.lost} of {model.sessions} sessions lost all their wax: that chance is counted in")
    return tuple(notes)


def share_text(share: float) -> str:
    """A share for people: 0.965 is ``96.5 %``."""
    return f"{100 * share:.1f} %"
