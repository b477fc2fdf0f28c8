"""Explanations of balances that do not close, ranked by how likely each is.

For a shift d of streams F the global test falls to g(d) = g - 2 d'F'V⁻¹r + d'F'V⁻¹F d, so every candidate weight is
judged in closed form. Each is weighed by how often such a slip is made and by how many candidates its kind has.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log, pi, sqrt

import numpy as np

from pipeline.analyses.balance import Floats
from pipeline.analyses.typing_slips import PRIOR, Candidate
from pipeline.analyses.weighings import Balance, Slack, Weight

SLIP = 0.005
"""How often one weight is a slip: a judgement, no source."""
ODD = 0.0015
"""How often a step goes off its usual loss, or a row is missing: a judgement, no source."""


@dataclass(frozen=True)
class Problem:
    """Linked balances that do not close: V⁻¹ (k, k), gap (k,), columns (k, streams) of the streams in them.

    ``streams``: what each column is, a weight or a balance's slack with its size in g.
    """

    inverse: Floats
    gap: Floats
    columns: Floats
    streams: tuple[Weight | tuple[Balance, Slack, float], ...]

    @property
    def g(self) -> float:
        """The global test's value."""
        return float(self.gap @ self.inverse @ self.gap)

    @property
    def place(self) -> dict[int, tuple[str, str | None]]:
        """For each weight, by its column: the balance that it stands in and that fails most, and its session."""
        balances = [(i, s[0]) for i, s in enumerate(self.streams) if not isinstance(s, Weight)]
        z = np.abs(self.gap) / np.sqrt(1e-300 + np.abs(self.columns).max(axis=1) ** 2)
        found = {}
        for column in range(len(self.streams)):
            rows = np.flatnonzero(self.columns[:, column])
            worst = rows[np.argmax(z[rows])]
            here = [b for i, b in balances if self.columns[worst, i] != 0]
            own = [b for b in here if self.streams[column] in (*b.into, *b.out)]
            first = next(iter((*own, *here)), None)
            found[column] = (first.name, first.session) if first else ("the balance", None)
        return found

    def checks(self, index: int) -> bool:
        """Whether anything else checks this stream."""
        f = self.columns[:, index]
        return float(f @ self.inverse @ f) > 1e-15 * float(f @ f)

    def without(self, index: int) -> Problem:
        """The same balances with one stream taken as not weighed."""
        f = self.inverse @ self.columns[:, index]
        left = self.inverse - np.outer(f, f) / float(self.columns[:, index] @ f)
        return Problem(left, self.gap, self.columns, self.streams)


@dataclass(frozen=True, slots=True)
class Explanation:
    """One way to make the balances close. ``stream`` (and ``partner``): columns; ``likely_g`` the weight meant.

    ``kind``: a slip of :mod:`slips`, ``exchange``, ``copy``, ``other``, or, of a slack, ``missing``, ``rest``,
    ``odd``; ``none`` is chance alone. ``error_g``: what the stream is too heavy by.
    """

    kind: str
    stream: int | None
    partner: int | None
    likely_g: float | None
    error_g: float
    words: str
    chance: float


Candidates = Callable[[Weight], Sequence[Candidate]]
Neighbours = Callable[[Weight], Sequence[Weight]]
_Scored = tuple[float, str, int | None, int | None, float | None, float, str]


def explanations(problem: Problem, candidates: Candidates, neighbours: Neighbours) -> list[Explanation]:
    """All explanations, most likely first; their chances sum to one."""
    place = {w: i for i, w in enumerate(problem.streams) if isinstance(w, Weight)}
    f = problem.inverse @ problem.columns
    weight = np.einsum("ks,ks->s", problem.columns, f)
    pull = problem.columns.T @ (problem.inverse @ problem.gap)
    scored: list[_Scored] = [(log(1 - SLIP), "none", None, None, None, 0.0, "chance")]
    for i, stream in enumerate(problem.streams):
        if weight[i] <= 1e-15:
            continue
        if isinstance(stream, Weight):
            scored += _slips(i, stream, weight[i], pull[i], candidates(stream))
            near = [place[n] for n in neighbours(stream) if n in place]
            scored += _neighbours(i, near, problem, f, pull)
        else:
            scored += _slacks(i, stream, weight[i], pull[i])
    return _normalised(scored)


def _normalised(scored: Sequence[_Scored]) -> list[Explanation]:
    top = max(s[0] for s in scored)
    total = sum(exp(s[0] - top) for s in scored)
    found = [
        Explanation(
            kind, i, j, None if likely is None else float(likely), float(error), words, exp(score - top) / total
        )
        for score, kind, i, j, likely, error, words in scored
    ]
    return sorted(found, key=lambda e: -e.chance)


def _slips(i: int, w: Weight, weight: float, pull: float, options: Sequence[Candidate]) -> list[_Scored]:
    mass, bias = w.mass_g or 0.0, pull / weight
    start = log(SLIP)
    found: list[_Scored] = []
    for c in options:
        d = mass - c.mass_g
        score = start + c.log_share - (weight * d * d - 2 * d * pull) / 2
        found.append((score, c.kind, i, None, c.mass_g, d, c.words))
    spread = weight * (0.5 * max(mass, 1.0)) ** 2
    score = start + log(PRIOR["other"]) + pull * bias * spread / (1 + spread) / 2 - log(1 + spread) / 2
    found.append((score, "other", i, None, max(mass - bias, 0.0), bias, "no single slip of the pen gives it"))
    return found


def _neighbours(i: int, near: Sequence[int], problem: Problem, f: Floats, pull: Floats) -> list[_Scored]:
    found: list[_Scored] = []
    mine = problem.streams[i]
    for j in near:
        other = problem.streams[j]
        assert isinstance(mine, Weight)
        assert isinstance(other, Weight)
        d = (mine.mass_g or 0.0) - (other.mass_g or 0.0)
        weight = float(problem.columns[:, i] @ f[:, i])
        if d == 0:
            spread = weight * (0.5 * max(mine.mass_g or 0.0, 1.0)) ** 2
            bias = pull[i] / weight
            score = log(SLIP * PRIOR["copy"]) + pull[i] * bias * spread / (1 + spread) / 2 - log(1 + spread) / 2
            likely = max((mine.mass_g or 0.0) - bias, 0.0)
            found.append((score, "copy", i, j, likely, bias, "the neighbouring row's weight again"))
            continue
        shift = problem.columns[:, i] - problem.columns[:, j]
        both = d * d * float(shift @ problem.inverse @ shift)
        score = log(SLIP * PRIOR["exchange"] / 2) + d * (pull[i] - pull[j]) - both / 2
        found.append((score, "exchange", i, j, other.mass_g, d, "entered in the neighbouring row"))
    return found


def _slacks(i: int, stream: tuple[Balance, Slack, float], weight: float, pull: float) -> list[_Scored]:
    """A step that went off its usual loss, a row that is missing, a rest still in store: a shift of unknown size.

    The shift is taken as even over the step's mass, so the marginal is exp(pull²/2w) √(2π/w) / size.
    """
    balance, slack, size = stream
    if size <= 0:
        return []
    bias = -pull / weight
    fits = pull * pull / weight / 2 + log(sqrt(2 * pi / weight) / size)
    found: list[_Scored] = []
    lost = bias > 0
    if lost and slack.rest > 0:
        found.append((log(slack.rest) + fits, "rest", i, None, None, bias, "the rest may still be in store"))
    kind = "missing" if lost and balance.missing else "odd"
    prior = ODD if balance.kind == "melt" else ODD / 2
    found.append((log(prior) + fits, kind, i, None, bias if kind == "missing" else None, bias, ""))
    return found


def by_stream(found: Sequence[Explanation]) -> Mapping[int, list[Explanation]]:
    """Explanations by the stream that they blame, most likely first; a pair stands under both of its streams."""
    blamed: dict[int, list[Explanation]] = {}
    for e in found:
        if e.stream is not None:
            blamed.setdefault(e.stream, []).append(e)
    return blamed
