"""Weights that do not fit: which balances fail, and which slip most likely made them fail. Nothing is corrected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, reduce
from math import sqrt

import numpy as np

from pipeline.analyses.balance_least_squares import Floats, Ints, Solved, sidak, solve
from pipeline.analyses.distributions import chi2_above
from pipeline.analyses.failing_balances import failing
from pipeline.analyses.possible_slips import Neighbours, Pen, ways
from pipeline.analyses.reconciled_masses import Freed, derived, settle
from pipeline.analyses.slip import Slip, SlipsOfWeight
from pipeline.analyses.slip_ranking import LEVEL, Explanation, by_stream, explanations
from pipeline.analyses.step_balance import Balance, Weight
from pipeline.analyses.weighing_network import Weighed
from pipeline.analyses.weight_in_doubt import Problem, Step
from pipeline.analyses.wrong_names import NAMED_IN, Names

LISTED = 0.5
"""Suspects are named where some slip is more likely than chance alone."""
_ROUNDS = 12
"""Slips looked for in one linked set at most: with so many there is no telling any more."""
_NAMED = 5
"""Weights listed at most for one slip, the likeliest first: a casting of three blocks, and what else touches it."""
_FAINT = 0.02
"""Chance from which a weight is listed, where some slip is likelier than not."""
_LEAST = {"rest": 0.05, "judged": 0.1}
"""The same where it is likelier that a rest was lost in store, or that a step is off the trade's usual figures."""
_HALF, _SEEN = 0.5, 3.0
"""A weight is tested where an error of this share of it would stand out by so many standard deviations."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A weight that does not fit, or a row that is missing. Masses in g; None where nothing says what was meant.

    ``row`` (1 = first record) and ``column`` tell the cell, both None of a missing row; ``slip``: what most likely
    happened; ``chance`` that this weight is the slip, all its explanations together. ``balance``: where it shows.
    ``among``: the weights between which the balances cannot tell, itself included; ``paired``: one of two slips.
    """

    log: str
    row: int | None
    column: str | None
    value_g: float | None
    slip: Slip
    chance: float
    balance: Balance | None
    among: tuple[Weight, ...] = ()
    paired: bool = False

    @property
    def kind(self) -> str:
        """The kind of slip, in a word or two."""
        return self.slip.kind

    @property
    def likely_g(self) -> float | None:
        """The weight that was meant."""
        return self.slip.likely_g

    @property
    def session(self) -> str | None:
        """The session where it shows."""
        return self.balance.session if self.balance else None


@dataclass(frozen=True, slots=True)
class OddStep:
    """A step where more or less went missing than usual and no slip explains it; ``lost_g`` beyond the usual."""

    balance: Balance
    lost_g: float
    chance: float


@dataclass(frozen=True, eq=False)
class Judgement:
    """All that the balances of a book say; ``reconciled_g`` (streams,): the masses of :func:`settle`.

    ``doubts``: of every weight in a balance that fails, the chance that it is a slip, listed or not.
    """

    weighed: Weighed
    solved: Solved
    suspects: tuple[Suspect, ...]
    odd_steps: tuple[OddStep, ...]
    reconciled_g: Floats
    doubts: Mapping[Weight, float] = field(default_factory=dict)

    @property
    def checkable(self) -> bool:
        """Whether anything in the book was weighed twice, so that one weight could show another to be wrong."""
        return bool((~self.weighed.judged_rows).any())

    @cached_property
    def tested(self) -> frozenset[Weight]:
        """The weights of which an error of half their mass would show."""
        sees = np.nan_to_num(self.solved.weight[: len(self.weighed.weights)])
        kept = zip(self.weighed.weights, sees, strict=True)
        return frozenset(w for w, f in kept if w.mass_g and sqrt(f) * w.mass_g * _HALF > _SEEN)

    @cached_property
    def untested(self) -> tuple[tuple[Weight, bool], ...]:
        """The weights beside which too few others stand to test them; whether more sessions alike would do (or a weighing)."""
        kept = list(zip(self.weighed.balances, self.weighed.slacks, strict=True))
        known = {w for b, slack in kept if b.weighed and not slack.judged for w in (*b.into, *b.out)}
        beside = {w for b, _ in kept if b.weighed for w in (*b.into, *b.out)}
        every = (w for b in (*self.weighed.balances, *self.weighed.unchecked) for w in (*b.into, *b.out))
        told = {*known, *self.tested} if self.checkable else known  # the trade's usual figures alone test nothing
        left = (w for w in dict.fromkeys(every) if w.mass_g and w not in told)
        return tuple((w, w in beside) for w in left)

    @cached_property
    def masses(self) -> dict[Weight, float]:
        """The reconciled mass of each weighed cell, never below zero; suspects count as not weighed."""
        kept = zip(self.weighed.weights, self.reconciled_g[: len(self.weighed.weights)], strict=True)
        return {w: max(float(g), 0.0) for w, g in kept if w.mass_g is not None}

    def derived(self, balances: Sequence[Balance]) -> dict[Weight, float | None]:
        """What the weights that nobody took in these balances must have been, g; None where nothing says."""
        return derived(self.weighed, self.reconciled_g, balances)


def likeliest_first(suspect: Suspect) -> tuple[float, str, int, str]:
    """Where a suspect stands in the list; the digits of a chance behind the twelfth hang on the order of a sum."""
    return -round(suspect.chance, 12), suspect.log, suspect.row or 0, suspect.column or ""


def suspects(weighed: Weighed, pen: Pen) -> Judgement:
    """Solve all balances and explain those that fail."""
    solved = solve(weighed.network)
    search = _Search(weighed, solved, pen)
    search.explain_all(failing(weighed, solved))
    named = sorted(search.named, key=likeliest_first)
    return Judgement(weighed, solved, tuple(named), tuple(search.odd), settle(weighed, search.freed), search.doubts)


@dataclass
class _Search:
    """The search through failing balances: what was named so far, and what counts as not weighed.

    ``moved`` (rows,): what wrongly named weights, now in their place, add to the gaps.
    """

    weighed: Weighed
    solved: Solved
    pen: Pen
    freed: list[Freed] = field(default_factory=list)
    named: list[Suspect] = field(default_factory=list)
    odd: list[OddStep] = field(default_factory=list)
    doubts: dict[Weight, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.names = Names(self.weighed, self.solved)
        self.moved = np.zeros(self.weighed.network.rows)

    @cached_property
    def neighbours(self) -> Neighbours:
        """The cells beside each cell; asked for only where something fails."""
        return Neighbours.of(self.weighed.weights)

    def explain_all(self, sets: Sequence[Ints]) -> None:
        """Sets that a wrong name explains come first: where its weight belongs, nothing is missing then."""
        later = []
        for rows in sets:
            problem, _ = self._problem(rows)
            found = self._found(problem)
            if any(s.kind == "wrong name" for s in _likeliest(found).slips):
                self.explain(rows, found)
            else:
                later.append((rows, found))
        for rows, found in later:
            self.explain(rows, None if self.moved[rows].any() else found)

    def explain(self, rows: Ints, found: list[Explanation] | None) -> None:
        """Name suspects one after the other, each taken as not weighed before the next is looked for."""
        problem, streams = self._problem(rows)
        freed: list[int] = []
        while len(freed) < min(len(rows), _ROUNDS) and _fails(problem, len(rows) - len(freed)):
            found = found or self._found(problem)
            if sum(e.chance for e in found if not e.slips) > 1 - LISTED:
                break
            slips, found = self._name(found, problem), None
            before = len(freed)
            for slip in slips:
                known = [i for i in slip.streams if problem.checks(i)]
                freed += known
                if slip.kind == "wrong name":
                    problem = replace(problem, gap=problem.gap - slip.shift)
                else:
                    problem = reduce(Problem.without, known, problem)
            if len(freed) == before:  # nothing is left that could be set free: the rest stays as it is
                break
        if freed:
            self.freed.append((rows, [int(streams[i]) for i in freed]))

    def _found(self, problem: Problem) -> list[Explanation]:
        known, opens = ways(problem, self.pen, self.neighbours)
        found = explanations(problem, [*known, *map(SlipsOfWeight.one, self.names.ways(problem))], opens)
        blamed = by_stream(found)
        for i in {of.streams[0] for of in known}.union(blamed):
            if isinstance(w := problem.streams[i], Weight):
                self.doubts[w] = max(self.doubts.get(w, 0.0), sum(p for _, p in blamed.get(i, ())))
        return found

    def _problem(self, rows: Ints) -> tuple[Problem, Ints]:
        streams, columns = self.weighed.network.columns(rows)
        gap = self.solved.gap[rows] + self.moved[rows]
        variance = self.weighed.network.variance[streams]
        which, elsewhere = tuple(map(self._stream, streams)), self.weighed.elsewhere
        return Problem(gap, columns, variance, which, elsewhere=elsewhere).as_weighed, streams

    def _stream(self, index: int) -> Weight | Step:
        weights, balances = self.weighed.weights, self.weighed.balances
        if index < len(weights):
            return weights[index]
        balance = balances[index - len(weights)]
        return balance, self.weighed.slacks[index - len(weights)], max(balance.in_g, balance.out_g)

    def _name(self, found: Sequence[Explanation], problem: Problem) -> tuple[Slip, ...]:
        """Put the likeliest weights on the list; the slips of the likeliest explanation."""
        blamed = by_stream(found)
        chances = {i: sum(p for s, p in told if s.kind != "rest") for i, told in blamed.items()}
        order = sorted(chances, key=lambda i: -chances[i])
        likeliest = _likeliest(found)
        if likeliest.slips[0].kind != "rest":  # what heads the list is set free, by what it is likeliest blamed for
            likeliest = next(e for e in found if any(order[0] in s.streams for s in e.slips))
        close = [i for i in order if isinstance(problem.streams[i], Weight) and chances[i] > chances[order[0]] / 3]
        least = max((_LEAST.get(self._class(problem, s), _FAINT) for s in found[0].slips), default=_FAINT)
        for i in (i for i in order[: _NAMED + len(likeliest.slips) - 1] if chances[i] >= least):
            slip = next(s for s, _ in blamed[i] if s.kind != "rest")
            among = _weights(problem, close) if len(close) > 1 and i in close and len(likeliest.slips) < 2 else ()
            self._blame(problem, i, (slip, chances[i]), among)
        if len(likeliest.slips) > 1:
            self._pair(problem, likeliest.slips)
        for slip in likeliest.slips:
            self._move(slip)
        return likeliest.slips

    @staticmethod
    def _class(problem: Problem, slip: Slip) -> str:
        step = problem.streams[slip.streams[0]]
        return "judged" if not isinstance(step, Weight) and step[1].judged else slip.kind

    def _blame(self, problem: Problem, i: int, told: tuple[Slip, float], among: tuple[Weight, ...]) -> None:
        slip, chance = told
        stream, balance = problem.streams[i], problem.place(i)
        if isinstance(stream, Weight):
            column, value = stream.column, stream.mass_g
            if slip.kind == "wrong name":
                column, value = "block" if stream.log == "draws" else NAMED_IN[slip.detail], None
                balance = next((b for j, b, *_ in problem.steps if j == slip.streams[1]), balance)
            self.named.append(Suspect(stream.log, stream.row, column, value, slip, chance, balance, among))
        elif slip.kind == "missing row":
            log = stream[0].missing or "loads"
            self.named.append(Suspect(log, None, None, None, slip, chance, stream[0]))
        elif not stream[1].judged:
            self.odd.append(OddStep(stream[0], slip.error_g, chance))

    def _pair(self, problem: Problem, slips: Sequence[Slip]) -> None:
        """Two slips that explain one session together say so."""
        cells = {(s.log, s.row) for s in (problem.streams[t.streams[0]] for t in slips) if isinstance(s, Weight)}
        both = [n for n in self.named if (n.log, n.row) in cells]
        if len(both) == len(slips) and len({n.session for n in both}) == 1:
            self.named = [replace(n, paired=True) if n in both else n for n in self.named]

    def _move(self, slip: Slip) -> None:
        """Put a wrongly named weight where it belongs, for the balances that are still to be explained."""
        if slip.kind == "wrong name" and slip.row is not None:
            row = int(self.weighed.row_of[slip.row])
            mean = self.weighed.slacks[slip.row].mean
            if row >= 0:
                self.moved[row] += slip.error_g * ((1 - mean) if slip.detail == "join" else -1.0)


def _likeliest(found: Sequence[Explanation]) -> Explanation:
    """The likeliest explanation that is not chance alone."""
    return next((e for e in found if e.slips), Explanation((), 0.0))


def _fails(problem: Problem, balances: int) -> bool:
    """Whether what is left of a failing set still fails, by the global test or by its largest single test."""
    f = problem.inverse @ problem.columns
    weight = np.einsum("ks,ks->s", problem.columns, f)
    tested = weight > 1e-12 * weight.max(initial=1e-300)
    z = np.abs(f.T @ problem.gap)[tested] / np.sqrt(weight[tested])
    largest = float(z.max(initial=0.0))
    rare = chi2_above(np.array([balances]), np.array([problem.g]))[0] < LEVEL
    return bool(rare or largest > sidak(LEVEL, np.array([len(z) or 1]))[0])


def _weights(problem: Problem, columns: Sequence[int]) -> tuple[Weight, ...]:
    return tuple(w for w in (problem.streams[i] for i in columns) if isinstance(w, Weight))
