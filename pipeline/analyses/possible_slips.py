"""Everything that may have gone wrong in balances that do not close: slips at each weight, and steps that went off."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from math import inf, log

import numpy as np

from pipeline.analyses.slip import Open, Slip, SlipsOfWeight
from pipeline.analyses.slip_ranking import SLIP
from pipeline.analyses.step_balance import Balance, Slack, Weight
from pipeline.analyses.typing_slips import PRIOR, Candidate, Typed, candidates
from pipeline.analyses.usual_weights import UsualSizes
from pipeline.analyses.weight_in_doubt import Problem

ODD = 0.0015
"""How often a step goes off its usual loss, or a row is missing: a judgement, no source."""
_ODD_IN_THE_TRADE = {"yield": 0.01, "melt": 0.003}
"""How often a step lies far off the trade's usual figures, where the book has none of its own: a judgement, no source."""
_TWICE = {"loads": 0.2, "draws": 0.1, "blocks": 0.005}
"""How often a row that says what an earlier one says was entered twice: a judgement, no source; moulds make like blocks."""
_OTHER = (0.05, 0.5)
"""Scatter of a slip that is none of those known, as a share of the weight, small or large: a judgement, no source."""


@dataclass(frozen=True, slots=True)
class Pen:
    """What is known of the typing: the text in each cell, the vessels' empty weights, each log's scale step, g."""

    typed: Callable[[Weight], Typed]
    vessels: Mapping[str, float]
    step_g: Callable[[str], float]
    _asked: dict[tuple[Weight, ...], list[Candidate]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def candidates(self, weight: Weight, near: Sequence[Weight] = ()) -> list[Candidate]:
        """What may have been meant by one weight, which is asked again with every slip that is looked for beside it.

        ``near``: the weights of the neighbouring rows.
        """
        if (weight, *near) not in self._asked:
            texts = [self.typed(w).text for w in near]
            found = candidates(self.typed(weight), weight.mass_g or 0.0, self.vessels, self.step_g(weight.log), texts)
            self._asked[weight, *near] = found
        return self._asked[weight, *near]


@dataclass(frozen=True, slots=True)
class Neighbours:
    """The weights of a book by their cells, and how large such weights are."""

    cells: Mapping[tuple[str, int, str], Weight]
    sizes: UsualSizes

    @classmethod
    def of(cls, weights: Sequence[Weight]) -> Neighbours:
        """All weights that were weighed."""
        return cls({(w.log, w.row, w.column): w for w in weights if w.mass_g is not None}, UsualSizes.of(weights))

    def near(self, w: Weight) -> list[Weight]:
        """The weights of the neighbouring rows in the same column."""
        around = (self.cells.get((w.log, w.row + step, w.column)) for step in (-1, 1))
        return [n for n in around if n is not None]


def ways(problem: Problem, pen: Pen, neighbours: Neighbours) -> tuple[list[SlipsOfWeight], list[Open]]:
    """The slips of known size, and those whose size only the balances can tell."""
    place = {w: i for i, w in enumerate(problem.streams) if isinstance(w, Weight)}
    known: list[SlipsOfWeight] = []
    opens: list[Open] = []
    for w, i in place.items():
        if w.mass_g is None or not problem.checks(i):
            continue
        near = neighbours.near(w)
        known += _slips(problem, i, w, pen.candidates(w, near), neighbours.sizes)
        opens += _other(problem, i, w)
        for n in near:
            if n in place and n.mass_g == w.mass_g:
                opens += _other(problem, i, w, "neighbour's weight")
            elif n in place:
                known.append(SlipsOfWeight.one(_exchange(problem, i, w, place[n], n)))
    for step in problem.steps:
        if step[-1] > 0:
            opens += _off(problem, step, neighbours.sizes)
    return known, opens + list(_missing_loads(problem, neighbours.sizes))


def _slips(
    problem: Problem, i: int, w: Weight, options: Sequence[Candidate], sizes: UsualSizes
) -> Iterator[SlipsOfWeight]:
    mass, along = w.mass_g or 0.0, problem.columns[:, i]
    meant, share, coarse = np.array([(c.mass_g, c.log_share, c.coarse_g) for c in options]).reshape(-1, 3).T
    prior = log(SLIP) + share + sizes.likelier(w, meant)

    def made(n: int) -> Slip:
        c = options[n]
        error_g = mass - c.mass_g
        return Slip(c.kind, (i,), float(prior[n]), along, c.mass_g, error_g, c.detail, c.taken_off, coarse_g=c.coarse_g)

    yield SlipsOfWeight((i,), along, prior, mass - meant, coarse, made)
    if w.again and w.log in _TWICE:
        yield SlipsOfWeight.one(Slip("entered twice", (i,), log(_TWICE[w.log]), along, 0.0, mass))


def _other(problem: Problem, i: int, w: Weight, kind: str = "other") -> Iterator[Open]:
    mass = w.mass_g or 0.0
    size = mass or (problem.sizes[i] if w.log == "stocktakes" else 1.0)  # what was counted as gone may be there
    slip = Slip(kind, (i,), log(SLIP * PRIOR[kind] / len(_OTHER)), problem.columns[:, i])
    for share in _OTHER:
        yield Open(slip, share * size, normal=True, mass_g=mass)


def _exchange(problem: Problem, i: int, w: Weight, j: int, n: Weight) -> Slip:
    """Two rows with each other's weights."""
    d = (w.mass_g or 0.0) - (n.mass_g or 0.0)
    along = problem.columns[:, i] - problem.columns[:, j]
    return Slip("rows exchanged", (i, j), log(SLIP * PRIOR["rows exchanged"] / 2), along, n.mass_g, d)


def _off(problem: Problem, at: tuple[int, Balance, Slack, float], sizes: UsualSizes) -> Iterator[Open]:
    """A step that went off its usual loss, a row that is missing, a rest still in store; wax does not grow anywhere."""
    i, balance, slack, size = at
    as_rows = partial(sizes.density, balance.missing, even_g=size) if balance.missing else None
    lost = -problem.columns[:, i]
    prior = _ODD_IN_THE_TRADE[balance.kind] if slack.judged else ODD if balance.kind in ("melt", "yield") else ODD / 2
    if slack.rest > 0:
        yield Open(Slip("rest", (i,), log(slack.rest), lost), size, gain=True)
    kind = "missing row" if balance.missing and balance.kind != "join" else "odd"
    likelier = as_rows if kind == "missing row" else None
    yield Open(Slip(kind, (i,), log(prior), lost), size, gain=True, often=slack.judged, likelier=likelier)
    if balance.kind == "join":
        yield Open(Slip("missing row", (i,), log(prior), -lost), size, gain=True, likelier=as_rows)
    elif balance.kind in ("melt", "yield") and not (balance.weighed and balance.out_g > balance.in_g):
        most = max(slack.mean, 0.0) * size if balance.kind == "yield" else inf
        yield Open(Slip("odd", (i,), log(prior), -lost), size, gain=True, often=slack.judged, most_g=most)


def _missing_loads(problem: Problem, sizes: UsualSizes) -> Iterator[Open]:
    """A load that nobody wrote down: what its store lacks went into a pass that has too much."""
    steps = problem.steps
    stores = [s for s in steps if s[1].kind in ("harvest", "block", "slumgum", "wax")]
    for j, join, slack, size in (s for s in steps if s[1].kind == "join"):
        for i, *_, held in stores:
            along = (1 - slack.mean) * problem.columns[:, j] - problem.columns[:, i]
            if min(size, held) > 0:
                slip = Slip("missing row", (j, i), log(ODD / 2 / len(stores)), along, detail=join.kind)
                most = min(size, held)
                yield Open(slip, most, gain=True, likelier=partial(sizes.density, "loads", even_g=most))
