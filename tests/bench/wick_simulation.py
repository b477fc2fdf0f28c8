"""How many burn tests the choice of a wick takes, and how often it is right: ``python -m tests.bench.wick_simulation 2000``.

Truths are drawn as the analysis weighs them (at least one size right), readings are wrong once in ten. Beside it a
ladder (from the smallest up until one reads right) and bisection, which believe every reading.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable

from pipeline.analyses.burn_verdicts import Says
from pipeline.analyses.wick_choice import RIGHT_SIZES, Seen, Wick, choose

Truth = tuple[int, int]
ERROR, ENOUGH, LONGEST = 0.1, 0.9, 40


def reading(place: int, truth: Truth, dice: random.Random, error: float) -> Says:
    lo, hi = truth
    right = Says.SMALL if place < lo else Says.RIGHT if place < hi else Says.LARGE
    wrong = [s for s in (Says.SMALL, Says.RIGHT, Says.LARGE) if s is not right]
    return dice.choice(wrong) if dice.random() < error else right


def bayes(sizes: int, truth: Truth, dice: random.Random, error: float) -> tuple[int, int]:
    wicks = [Wick(str(i), i, 0, 0) for i in range(sizes)]
    seen: list[Seen] = []
    following: str | None = choose(wicks, [], (), ERROR, ENOUGH).next_test
    while following is not None and len(seen) < LONGEST:
        seen.append(Seen(f"T{len(seen)}", 1, following, reading(int(following), truth, dice, error)))
        told = choose(wicks, seen, (), ERROR, ENOUGH)
        following = told.next_test
    return len(seen), int(told.choice or 0)


def ladder(sizes: int, truth: Truth, dice: random.Random, error: float) -> tuple[int, int]:
    for place in range(sizes):
        if reading(place, truth, dice, error) is Says.RIGHT:
            return place + 1, place
    return sizes, sizes - 1


def bisection(sizes: int, truth: Truth, dice: random.Random, error: float) -> tuple[int, int]:
    low, high, tests = 0, sizes - 1, 0
    while low < high:
        middle, tests = (low + high) // 2, tests + 1
        said = reading(middle, truth, dice, error)
        if said is Says.RIGHT:
            return tests, middle
        low, high = (middle + 1, high) if said is Says.SMALL else (low, max(middle - 1, low))
    return tests, low


def measured(way: Callable[[int, Truth, random.Random, float], tuple[int, int]], sizes: int, error: float, runs: int) -> tuple[float, float]:
    dice = random.Random(2026)
    pairs = [(lo, lo + gap) for lo in range(sizes) for gap in range(1, len(RIGHT_SIZES)) if lo + gap <= sizes]
    truths = dice.choices(pairs, [RIGHT_SIZES[hi - lo] for lo, hi in pairs], k=runs)
    told = [(truth, way(sizes, truth, dice, error)) for truth in truths]
    return sum(n for _, (n, _) in told) / runs, sum(lo <= chosen < hi for (lo, hi), (_, chosen) in told) / runs


if __name__ == "__main__":
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(f"{'sizes':>5} {'misread':>8} " + " ".join(f"{way.__name__ + ' tests, right':>24}" for way in (ladder, bisection, bayes)))
    for sizes, error in ((12, 0.1), (6, 0.1), (12, 0.0)):
        row = [measured(way, sizes, error, runs) for way in (ladder, bisection, bayes)]
        print(f"{sizes:>5} {error:>8.0%} " + " ".join(f"{tests:>17.2f}, {right:.3f}" for tests, right in row))
