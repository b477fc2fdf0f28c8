"""Whether a scale is as fine as book.toml says: invented books of 20 sessions whose scale is known."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.analyses.balances_of_book import balances
from pipeline.analyses.scale_step_fit import as_shown, scale_fit
from tests.bench import slipped_books
from tests.bench.suspects_simulation import clean_book, coarse


def says(step_g: float):
    return lambda log, mass_g: step_g / 12**0.5


@pytest.mark.parametrize(("reads_g", "said_g"), [(5, 1), (20, 1), (50, 20)])
def test_a_coarse_scale_is_told_once_with_its_step(reads_g: float, said_g: float) -> None:
    fit = scale_fit(balances(clean_book(np.random.default_rng(1), 20, reads_g, 0.0)), says(said_g))
    assert fit is not None
    assert (fit.step_g, fit.read) == (reads_g, True)
    assert fit.typical_g >= reads_g / 12**0.5
    assert as_shown(says(said_g), fit)("loads", 4000) == pytest.approx(np.hypot(said_g / 12**0.5, fit.typical_g))


@pytest.mark.parametrize("reads_g", [5, 20])
def test_an_honest_scale_is_left_in_peace(reads_g: float) -> None:
    fit = scale_fit(balances(clean_book(np.random.default_rng(1), 20, reads_g, 0.0)), says(reads_g))
    assert fit is None
    assert as_shown(says(reads_g), fit)("loads", 4000) == reads_g / 12**0.5


def test_what_is_spilt_is_not_the_scales_error() -> None:
    """Each weight is off by up to 5 g (sd 2.9 g: a step of 10 g); up to 1 % is spilt at each step, some 30 g, and that is no matter of the scale."""
    steps = balances(slipped_books.clean_book(np.random.default_rng((78, 0)), 60, "kg").records)
    fit = scale_fit(steps, says(1))
    assert fit is not None
    assert (fit.step_g, fit.read) == (10, False)
    assert fit.typical_g == pytest.approx(5 / 3**0.5, rel=0.4)
    assert scale_fit(steps, says(10)) is None


def test_nothing_is_said_of_a_scale_by_a_few_weighings() -> None:
    assert scale_fit(balances(clean_book(np.random.default_rng(1), 2, 20, 0.0)), says(1)) is None


def test_no_slip_is_seen_in_clean_books_of_a_coarse_scale() -> None:
    assert coarse(4, 5, 1) == (1, 1, 0, 0)
