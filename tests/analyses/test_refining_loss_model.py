"""What refining loses, by hand: the prior of 1 to 6 %, what sessions add to it, and draws from numbers that are no chance."""

from __future__ import annotations

from datetime import date
from math import exp, log

import numpy as np
import pytest

from pipeline.analyses.refining_loss_model import Refining

CENTRE = (log(0.01) + log(0.06)) / 2
PRECISION = 0.25 / (log(6) / 2.563) ** 2  # sessions scatter by .5 in log loss, 10-90 % is 2.563 sd


def test_before_any_session_refining_loses_what_it_usually_does() -> None:
    found = Refining.of([])
    assert (found.centre, found.own) == (pytest.approx(CENTRE), 0)
    assert (found.fitted.mean[0], found.fitted.cov[0, 0], found.fitted.df, found.fitted.scale) == pytest.approx((0, 1 / PRECISION, 2, 0.5))


@pytest.mark.parametrize(
    ("in_g", "out_g", "loss"),
    [(1000, 970, 0.03), (500, 450, 0.1), (1000, 999, 0.002), (1000, 1001, 0.002), (1000, 400, 0.5), (1000, 0, 0.5)],
)
def test_a_session_draws_the_loss_towards_its_own(in_g: float, out_g: float, loss: float) -> None:
    """Between a fifth of a hundredth, which is a scale's, and a half, which is no refining."""
    z = log(loss) - CENTRE
    found = Refining.of([(in_g, out_g), (0.0, 0.0)])
    mean = z / (PRECISION + 1)
    assert found.own == 1
    assert (found.fitted.mean[0], found.fitted.cov[0, 0], found.fitted.df) == pytest.approx((mean, 1 / (PRECISION + 1), 3))
    assert found.fitted.scale == pytest.approx(((2 * 0.25 + z**2 - z * mean) / 3) ** 0.5)


class Told:
    """Numbers in place of chance: chi-squared is four times its degrees of freedom, the normals are given one after the other."""

    def __init__(self, *normals: list[float]) -> None:
        self.normals = list(normals)

    def chisquare(self, df: float, count: int) -> np.ndarray:
        return np.full(count, 4.0 * df)

    def standard_normal(self, count: int) -> np.ndarray:
        assert len(self.normals[0]) == count
        return np.array(self.normals.pop(0))


def test_what_is_refined_on_one_day_shares_its_loss() -> None:
    one, two = date(2026, 1, 5), date(2026, 3, 1)
    found = Refining.of([(1000, 970)])
    noise, spread = found.fitted.scale / 2, found.fitted.cov[0, 0] ** 0.5
    middle = CENTRE + found.fitted.mean[0]
    told = Told([0.0, 1.0, 0.0], [2.0, -1.0, 30.0], [-0.5, 0.0, 0.0])
    drawn = found.yields([two, one, two], told, 3)  # type: ignore[arg-type]
    early = [1 - exp(middle + 2 * noise), 1 - exp(middle + noise * spread - noise), 0.5]  # no more than half is lost
    late = [1 - exp(middle - 0.5 * noise), 1 - exp(middle + noise * spread), 1 - exp(middle)]
    assert drawn == pytest.approx(np.array([late, early, late]).T)


def test_where_nothing_waits_there_is_nothing_to_draw() -> None:
    assert Refining.of([]).yields([], np.random.default_rng(1), 7).shape == (7, 0)
