"""One set of balances reconciled by itself, densely: what the program's many at once are held to.

Linear data reconciliation as in Narasimhan & Jordache, *Data Reconciliation and Gross Error Detection*, 2000: streams
that nobody weighed are eliminated by the null space of their columns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg
from scipy.special import chdtrc

from pipeline.analyses.balance_least_squares import Flags, Floats, unweighed


@dataclass(frozen=True)
class Reconciled:
    """Masses (streams,), nan where neither weighed nor given by the rest; the errors that would explain most alone and
    their maximum-power tests (streams,), nan where nothing checks a stream; the global test, ``p`` None where there is none.
    """

    values: Floats
    bias: Floats
    z: Floats
    g: float
    df: int
    p: float | None


def reconcile(y: Floats, variance: Floats, a: Floats, b: Floats, measured: Flags) -> Reconciled:
    """Weighings ``y`` (n,) with ``variance`` (n,) under ``a`` (k, n) ``x = b`` (k,), those not ``measured`` ignored."""
    projection = linalg.null_space(a[:, ~measured].T).T if (~measured).any() else np.eye(len(a))
    left, size, _ = np.linalg.svd(projection @ a[:, measured], full_matrices=False)
    independent = left[:, size > 1e-10 * max(1.0, float(np.abs(a).max(initial=0.0)))].T @ projection
    rows = independent @ a[:, measured]
    gap = rows @ y[measured] - independent @ b
    inverse = np.linalg.inv((rows * variance[measured]) @ rows.T)
    pull = inverse @ gap
    g, df = float(gap @ pull), len(rows)
    bias, z = np.full(len(y), np.nan), np.full(len(y), np.nan)
    weight, top = np.einsum("rs,rk,ks->s", rows, inverse, rows), rows.T @ pull
    weight[weight < 1e-12 * max(float(weight.max(initial=0.0)), 1e-300)] = np.nan
    bias[measured], z[measured] = top / weight, np.abs(top) / np.sqrt(weight)
    values = np.where(measured, y, np.nan)
    values[measured] -= variance[measured] * (rows.T @ pull)
    values[~measured] = unweighed(a[:, ~measured], b - a[:, measured] @ values[measured])
    return Reconciled(values, bias, z, g, df, float(chdtrc(df, g)) if df else None)
