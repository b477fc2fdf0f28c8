"""What the checks warn of and the suspects do not explain, so that the two never contradict each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.analyses.slip_ranking import SLIP
from pipeline.analyses.step_balance import Balance, Weight
from pipeline.analyses.suspects import LISTED, Judgement
from pipeline.contract.findings import Finding, Severity, log_name

OF_MASS = ("blocks-over-pass", "load-scale", "over-source", "shelf-below-zero", "wax-over-comb", "wax-over-in")
"""The rules that find masses which do not fit."""
_USUAL = 3.0
"""Standard deviations, of this book's own losses, within which a difference is one of its usual ones."""


@dataclass(frozen=True, slots=True)
class Left:
    """A warning that no slip explains, with the weight it names and the chance that this weight is a slip."""

    finding: Finding
    weight: Weight | None
    chance: float


@dataclass(frozen=True, slots=True)
class Unexplained:
    """Of ``warned`` warnings: those that stand ``alone``, and those no larger than what this book shows ``usually``."""

    alone: tuple[Left, ...] = ()
    usually: tuple[Finding, ...] = ()
    warned: int = 0


def beside(
    findings: Sequence[Finding], verdict: Judgement, line: Callable[[str, int], int | None], whole: bool
) -> Unexplained:
    """Sort what the checks warn of: explained by a suspect, usual in this book, or neither.

    ``whole``: whether all sessions were looked at; else warnings of weights that were not are passed over.
    """
    told = warned(findings)
    if not told:
        return Unexplained()
    holding = _holding(verdict)
    logs = {log_name(f.log) for f in told}
    rows: dict[tuple[str, int | None], list[Weight]] = defaultdict(list)
    for w in holding:
        if w.log in logs:
            rows[w.log, line(w.log, w.row)].append(w)
    explained, z = _explained(verdict), _misses(verdict)
    alone, usually = list[Left](), list[Finding]()
    for f in told:
        weights = rows.get((log_name(f.log), f.line), []) if f.line else _on_the_shelf(verdict)
        weights = [w for w in weights if w.column == f.column] or weights
        if not weights and not whole:
            continue
        numbers = [n for w in weights for n in holding[w]]
        if _beside([b for b, _ in numbers], weights) & explained:
            continue
        if numbers and all(z.get(i, 0.0) <= _USUAL for _, i in numbers):
            usually.append(f)
        else:
            weight = weights[0] if weights and f.line else None
            chance = verdict.doubts.get(weight, SLIP) if weight else SLIP
            alone.append(Left(f, weight, min(chance, LISTED)))
    return Unexplained(tuple(alone), tuple(usually), len(told))


def warned(findings: Sequence[Finding]) -> list[Finding]:
    """Those that warn of a mass."""
    return [f for f in findings if f.rule in OF_MASS and f.severity is Severity.WARNING]


def _beside(steps: Sequence[Balance], weights: Sequence[Weight]) -> set[object]:
    """All that stands in the same balances and sessions."""
    cells = {w for b in steps for w in (*b.into, *b.out)}
    return {*weights, *cells, *(b.session for b in steps), *map(id, steps)}


def _on_the_shelf(verdict: Judgement) -> list[Weight]:
    """What a warning of the whole shelf is about: every block that was taken from."""
    return [w for b in verdict.weighed.balances if b.kind == "block" for w in b.into]


def _holding(verdict: Judgement) -> dict[Weight, list[tuple[Balance, int]]]:
    """The balances that each weight stands in, with their numbers (-1: nothing checks it)."""
    found: dict[Weight, list[tuple[Balance, int]]] = defaultdict(list)
    numbered = [
        *((b, i) for i, b in enumerate(verdict.weighed.balances)),
        *((b, -1) for b in verdict.weighed.unchecked),
    ]
    for b, i in numbered:
        for w in (*b.into, *b.out):
            found[w].append((b, i))
    return found


def _explained(verdict: Judgement) -> set[object]:
    """The weights, sessions and balances in which a suspect, or a step that went off, was named."""
    found: set[object] = set()
    for s in verdict.suspects:
        found |= {s.session, *s.among, id(s.balance)}
        if s.row is not None:
            found |= {Weight(s.log, s.row, str(s.column), s.value_g)}
    for o in verdict.odd_steps:
        found |= {o.balance.session, id(o.balance)}
    return found - {None}


def _misses(verdict: Judgement) -> dict[int, float]:
    """By how many standard deviations each fully weighed balance misses what is usual."""
    network, solved = verdict.weighed.network, verdict.solved
    each = network.coefficient**2 * network.variance[network.stream]
    sd = np.sqrt(np.bincount(network.row, each, network.rows))
    rows = verdict.weighed.row_of
    return {i: float(abs(solved.gap[r]) / sd[r]) for i, r in enumerate(rows) if r >= 0}
