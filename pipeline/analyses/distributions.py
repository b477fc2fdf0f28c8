"""Chances and quantiles of the distributions that the analyses ask: normal, t, chi-squared, beta, a fair coin.

Closed forms and a continued fraction, of the DLMF (NIST Digital Library of Mathematical Functions, dlmf.nist.gov) and
of Abramowitz & Stegun: a statistics library takes longer to load than all of them take to compute.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import erfc, exp, inf, lgamma, log, log1p, nan, sqrt
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

_TINY = 1e-300

MAD_TO_SD = 1.4826
"""The sd of a normal distribution by its median absolute deviation: 1 over its 75 % point."""

normal_quantile: Callable[[float], float] = NormalDist().inv_cdf
"""The point that a standard normal value stays below with this chance (Wichura 1988, AS 241)."""


def normal_below(z: float) -> float:
    """The chance that a standard normal value stays below ``z``."""
    return erfc(-z / sqrt(2)) / 2


def beta_below(a: float, b: float, x: float, rest: float | None = None) -> float:
    """The chance that a beta value stays below ``x``; ``rest``: 1 - x, where it is known more exactly.

    The regularised incomplete beta function by its continued fraction (DLMF 8.17.22), from the side where it is short.
    """
    y = 1 - x if rest is None else rest
    if x <= 0 or y <= 0:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - beta_below(b, a, y, x)
    logs = (log(x), log1p(-x)) if x < y else (log1p(-y), log(y))
    return exp(a * logs[0] + b * logs[1] - _log_beta(a, b)) / a / _fraction(a, b, x)


@cache
def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)


def _fraction(a: float, b: float, x: float) -> float:
    """1 + d1/(1 + d2/(1 + ...)) by the modified Lentz method (DLMF 3.10.iii)."""
    value, above, below, m, change = 1.0, 1.0, 0.0, 0, 0.0
    while abs(change - 1) > 3e-16:
        for d in (
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
            (m + 1) * (b - m - 1) * x / ((a + 2 * m + 1) * (a + 2 * m + 2)),
        ):
            below = 1 / ((1 + d * below) or _TINY)
            above = (1 + d / above) or _TINY
            change = above * below
            value *= change
        m += 1
    return value


def beta_quantile(a: float, b: float, chance: float) -> float:
    """The point that a beta value stays below with this chance; halved down to the last digit."""
    low, high = 0.0, 1.0
    while low < (middle := (low + high) / 2) < high:
        low, high = (middle, high) if beta_below(a, b, middle) < chance else (low, middle)
    return high


def coin_above(k: int, n: int) -> float:
    """The chance of more than ``k`` heads in ``n`` throws of a fair coin (DLMF 8.17.5)."""
    return 1.0 if k < 0 else beta_below(k + 1, n - k, 0.5) if k < n else 0.0


def t_below(t: float, df: float) -> float:
    """The chance that a Student t value stays below ``t`` (Abramowitz & Stegun 26.7.1, 26.5.27)."""
    whole = df + t * t
    tail = beta_below(df / 2, 0.5, df / whole, t * t / whole) / 2
    return tail if t < 0 else 1 - tail


@cache
def t_quantile(chance: float, df: float) -> float:
    """The point that a Student t value stays below with this chance, by Newton's steps from the normal value.

    Below the middle t lies farther out and the chance curves upward, so that every step comes nearer and none too far.
    """
    if chance > 0.5:
        return -t_quantile(1 - chance, df)
    t = normal_quantile(chance)
    density = exp(-_log_beta(df / 2, 0.5)) / sqrt(df)
    step = inf
    while abs(step) > 1e-9 * max(abs(t), 1e-6):  # each step has twice the right digits of the one before
        step = (t_below(t, df) - chance) / (density * (1 + t * t / df) ** (-(df + 1) / 2))
        t -= step
    return t


def chi2_above(df: npt.NDArray[np.int64], value: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The chance that a chi-squared value lies above (DLMF 8.4.6, 8.4.10, 8.8.6); nan for no degree of freedom."""
    chances = np.full(np.shape(value), nan)
    for n in np.unique(df):
        here = df == n
        x = np.maximum(value[here] / 2, _TINY)
        above = np.exp(-x) if n % 2 == 0 else np.array([erfc(root) for root in np.sqrt(x)])
        for half in np.arange(2 - n % 2, n, 2) / 2:
            above += np.exp(half * np.log(x) - x - lgamma(half + 1))
        chances[here] = above if n else nan
    return chances
