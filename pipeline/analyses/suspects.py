"""Weights that do not fit: which balances fail, and which slip most likely made them fail. Nothing is corrected."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from pipeline.analyses.balance import LARGEST_BLOCK, Floats, Ints, Solved, sidak, solve
from pipeline.analyses.distributions import chi2_above
from pipeline.analyses.reconciled_masses import Freed, derived, settle
from pipeline.analyses.slip_explanations import Explanation, Problem, by_stream, explanations
from pipeline.analyses.typing_slips import Candidate, Typed, candidates
from pipeline.analyses.weighings import Balance, Slack, Weighed, Weight

LEVEL = 0.01
"""A linked set of balances is looked into when its global test, or its largest single test, is rarer than this."""
LISTED = 0.5
"""Suspects are named where some slip is more likely than chance alone."""
_ROUNDS = 12
"""Slips looked for in one linked set at most: with so many there is no telling any more."""
_NAMED = 3
"""Weights listed at most for one slip, the likeliest first."""
_FAINT, _LIKELY = 0.02, 0.25
"""Chances from which a weight is listed: where some slip is likelier than not, and where a rest or a loss in store is."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A weight that does not fit. Masses in g; ``likely_g`` None where nothing says what was meant.

    ``row`` (1 = first record; None: a row that is missing) and ``column`` tell the cell; ``chance`` that this
    weight is the slip, all its explanations together. ``session``: where it shows. ``among``: the weights between
    which the balances cannot tell, itself included.
    """

    log: str
    row: int | None
    column: str
    value_g: float | None
    likely_g: float | None
    kind: str
    reason: str
    chance: float
    session: str | None
    among: tuple[Weight, ...] = ()


@dataclass(frozen=True, slots=True)
class OddStep:
    """A step where more or less went missing than usual and no slip explains it; ``lost_g`` beyond the usual."""

    name: str
    session: str | None
    lost_g: float
    chance: float


@dataclass(frozen=True)
class Verdict:
    """All that the balances of a book say; ``reconciled_g`` (streams,): the masses of :func:`settle`."""

    weighed: Weighed
    solved: Solved
    suspects: tuple[Suspect, ...]
    odd_steps: tuple[OddStep, ...]
    reconciled_g: Floats

    @property
    def checkable(self) -> bool:
        """Whether anything in the book was weighed twice."""
        return self.weighed.network.rows > 0

    @cached_property
    def masses(self) -> dict[Weight, float]:
        """The reconciled mass of each weighed cell, never below zero; suspects count as not weighed."""
        kept = zip(self.weighed.weights, self.reconciled_g, strict=False)
        return {w: max(float(g), 0.0) for w, g in kept if w.mass_g is not None}

    def derived(self, balances: Sequence[Balance]) -> dict[Weight, float | None]:
        """What the weights that nobody took in these balances must have been, g; None where nothing says."""
        return derived(self.weighed, self.reconciled_g, balances)


@dataclass(frozen=True)
class Pen:
    """What is known of the typing: the text in each cell, the vessels' empty weights, each log's scale step, g."""

    typed: Callable[[Weight], Typed]
    vessels: Mapping[str, float]
    step_g: Callable[[str], float]

    def candidates(self, weight: Weight) -> list[Candidate]:
        """What may have been meant by one weight."""
        return candidates(self.typed(weight), weight.mass_g or 0.0, self.vessels, self.step_g(weight.log))


def suspects(weighed: Weighed, pen: Pen) -> Verdict:
    """Solve all balances and explain those that fail."""
    solved = solve(weighed.network)
    search = _Search(weighed, solved, pen)
    for rows in _failing(weighed, solved):
        search.explain(rows)
    named = sorted(search.named, key=lambda s: (-s.chance, s.log, s.row or 0, s.column))
    return Verdict(weighed, solved, tuple(named), tuple(search.odd), settle(weighed, solved, search.freed))


def _failing(weighed: Weighed, solved: Solved) -> list[Ints]:
    """The rows of each failing set of balances; sets joined where their weights stand in neighbouring rows."""
    stream, block = weighed.network.stream, solved.blocks.block[weighed.network.row]
    largest = np.zeros(len(solved.g))
    np.fmax.at(largest, block, np.nan_to_num(solved.z[stream]))
    tests = np.maximum(np.bincount(block, minlength=len(largest)), 1)
    bad = (solved.p < LEVEL) | (largest > sidak(LEVEL, tests))
    mine = bad[block] & (stream < len(weighed.weights))
    at = {weighed.weights[s]: int(b) for s, b in zip(stream[mine], block[mine], strict=True)}
    group = {int(b): int(b) for b in np.flatnonzero(bad)}
    size = solved.blocks.size.copy()
    cells = {(w.log, w.row, w.column): b for w, b in at.items()}
    for (log, r, column), b in cells.items():
        one, other = _root(group, b), _root(group, cells.get((log, r + 1, column), b))
        if one != other and size[one] + size[other] <= LARGEST_BLOCK:
            group[other] = one
            size[one] += size[other]
    members: dict[int, list[int]] = {}
    for b in group:
        members.setdefault(_root(group, b), []).append(b)
    return [np.sort(np.concatenate([solved.blocks.members(b) for b in sets])) for sets in members.values()]


def _root(group: Mapping[int, int], b: int) -> int:
    while group[b] != b:
        b = group[b]
    return b


@dataclass
class _Search:
    """The search through failing balances: what was named so far, and what counts as not weighed."""

    weighed: Weighed
    solved: Solved
    pen: Pen
    freed: list[Freed] = field(default_factory=list)
    named: list[Suspect] = field(default_factory=list)
    odd: list[OddStep] = field(default_factory=list)

    def explain(self, rows: Ints) -> None:
        """Name suspects one after the other, each taken as not weighed before the next is looked for."""
        problem, streams = self._problem(rows)
        near = _neighbours_in(problem)
        freed: list[int] = []
        while len(freed) < min(len(rows), _ROUNDS) and _fails(problem, len(rows) - len(freed)):
            found = explanations(problem, self.pen.candidates, near)
            if sum(e.chance for e in found if e.kind == "none") > 1 - LISTED:
                break
            for index in self._name(found, problem):
                if problem.checks(index):
                    problem = problem.without(index)
                    freed.append(index)
        if freed:
            self.freed.append((rows, [int(streams[i]) for i in freed]))

    def _problem(self, rows: Ints) -> tuple[Problem, Ints]:
        streams, columns = self.weighed.network.columns(rows)
        inverse = self.solved.inverse_among(rows)
        return Problem(inverse, self.solved.gap[rows], columns, tuple(map(self._stream, streams))), streams

    def _stream(self, index: int) -> Weight | tuple[Balance, Slack, float]:
        weights, balances = self.weighed.weights, self.weighed.balances
        if index < len(weights):
            return weights[index]
        balance = balances[index - len(weights)]
        return balance, self.weighed.slacks[index - len(weights)], max(balance.in_g, balance.out_g)

    def _name(self, found: Sequence[Explanation], problem: Problem) -> list[int]:
        """Put the likeliest weights on the list; which streams the likeliest explanation blames."""
        blamed = by_stream(found)
        chances = {i: sum(e.chance for e in es if e.kind != "rest") for i, es in blamed.items()}
        order = sorted(chances, key=lambda i: -chances[i])
        close = [i for i in order if isinstance(problem.streams[i], Weight) and chances[i] > chances[order[0]] / 3]
        least = _LIKELY if found[0].kind == "rest" else _FAINT
        for i in (i for i in order[:_NAMED] if chances[i] >= least):
            stream, best = problem.streams[i], next(e for e in blamed[i] if e.kind != "rest")
            if isinstance(stream, Weight):
                name, session = problem.place[i]
                words = f"{best.words}; so that {name} closes"
                among = _weights(problem, close) if len(close) > 1 and i in close else ()
                self.named.append(
                    Suspect(
                        stream.log, stream.row, stream.column, stream.mass_g, best.likely_g, best.kind, words,
                        chances[i], session, among,
                    )
                )  # fmt: skip
            else:
                self._slack(stream[0], best, chances[i])
        likeliest = next(e for e in found if e.kind != "none")
        first = likeliest if likeliest.kind == "rest" else blamed[order[0]][0]
        return [i for i in (first.stream, first.partner if first.kind == "exchange" else None) if i is not None]

    def _slack(self, balance: Balance, e: Explanation, probability: float) -> None:
        if e.kind == "missing" and balance.missing:
            words = f"{balance.name} lacks this much; a row may be missing in {balance.missing}.csv"
            self.named.append(
                Suspect(balance.missing, None, "mass", None, e.likely_g, "missing", words, probability, balance.session)
            )
        else:
            self.odd.append(OddStep(balance.name, balance.session, e.error_g, probability))


def _fails(problem: Problem, balances: int) -> bool:
    """Whether what is left of a failing set still fails, by the global test or by its largest single test."""
    f = problem.inverse @ problem.columns
    weight = np.einsum("ks,ks->s", problem.columns, f)
    tested = weight > 1e-12 * weight.max(initial=1e-300)
    z = np.abs(f.T @ problem.gap)[tested] / np.sqrt(weight[tested])
    largest = float(z.max(initial=0.0))
    rare = chi2_above(np.array([balances]), np.array([problem.g]))[0] < LEVEL
    return bool(rare or largest > sidak(LEVEL, np.array([len(z) or 1]))[0])


def _neighbours_in(problem: Problem) -> Callable[[Weight], Sequence[Weight]]:
    """The weights of the neighbouring rows in the same column."""
    cells = {(w.log, w.row, w.column): w for w in problem.streams if isinstance(w, Weight)}

    def near(weight: Weight) -> list[Weight]:
        around = (cells.get((weight.log, weight.row + step, weight.column)) for step in (-1, 1))
        return [w for w in around if w is not None]

    return near


def _weights(problem: Problem, columns: Sequence[int]) -> tuple[Weight, ...]:
    return tuple(w for w in (problem.streams[i] for i in columns) if isinstance(w, Weight))
