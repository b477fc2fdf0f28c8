"""Whether a scale is as fine as book.toml says: invented books of 20 sessions whose scale is known."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.analyses.balances_of_book import balances
from pipeline.analyses.scale_step_fit import as_shown, scale_fit
from tests.analyses.balances import step
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


# --- by hand: joins of 1000.3 g that are off by as much one way as the other


def off_by(error_g: float, n: int = 12, kind: str = "join", in_g: float = 1000.3) -> list:
    return [step(kind, [in_g], [in_g + (error_g if i % 2 else -error_g)]) for i in range(n)]


def sure_to(sd_g: float):
    return lambda log, mass_g: sd_g


def fitted(steps: list, sd_g: float) -> tuple | None:
    fit = scale_fit(steps, sure_to(sd_g))
    return fit and (fit.n, round(fit.typical_g, 3), fit.said_g, fit.step_g, fit.read)


TEN = round(1.4826 * 10 / 2**0.5, 3)  # 10.484: of two weighings that differ by 10 g, each


@pytest.mark.parametrize(
    ("steps", "sd_g", "fit"),
    [
        (off_by(10), 3, (12, TEN, 3, 50, False)),  # 10.5 g x sqrt(12) = 36 g, which lies nearer to 50 than to 20
        (off_by(10), 5.2, (12, TEN, 5.2, 50, False)), (off_by(10), 5.3, None),  # twice what the scale explains
        (off_by(10, 11), 3, None),  # twelve balances at least
        (off_by(10, kind="melt"), 3, None),  # what is lost there is no scale's
        ([*off_by(10)[:11], step("join", [1000.3], [990.3], closed=False)], 3, None),
        ([*off_by(10)[:11], step("join", [1000.3, None], [990.3])], 3, None),
        ([*off_by(10)[:11], step("join", [0], [10])], 3, None), ([*off_by(10)[:11], step("join", [10], [])], 3, None),
        (off_by(10) + off_by(20, kind="harvest"), 3, (24, TEN, 3, 50, False)),  # the kind that differs least
        (off_by(10, 11) + off_by(20, kind="cast"), 3, (23, 2 * TEN, 3, 100, False)),  # of eleven nothing is said where twelve are
        (off_by(10, 6) + off_by(20, 6, "cast"), 3, (12, TEN, 3, 50, False)),
        ([step("join", [m], [0.99 * m]) for m in (1000.3, 2000.7, 3000.1) * 4], 3, None),  # what is always lost
        (off_by(7000), 1, (12, round(700 * TEN, 2), 1, 5000, False)),  # no scale is coarser
        (off_by(0.01), 0.001, (12, round(TEN / 1000, 3), 0.001, 0.1, False)),  # nor finer
        # all on steps of 50 g: the sd of such a scale is 50 / sqrt(12) = 14.4 g
        (off_by(0, in_g=1050), 1, (12, round(50 / 12**0.5, 3), 1, 50, True)), (off_by(50, in_g=1050), 1, (12, 5 * TEN, 1, 50, True)),
        (off_by(0, in_g=1050), 7.2, (12, round(50 / 12**0.5, 3), 7.2, 50, True)), (off_by(0, in_g=1050), 7.3, None),  # 2 x 7.22 x sqrt(12)
        (off_by(100, in_g=1050), 1, (12, 10 * TEN, 1, 500, False)),  # off by more than such a scale would be
        ([*off_by(0, 19, in_g=1050), step("join", [1031], [1031])], 1, (20, round(50 / 12**0.5, 3), 1, 50, True)),  # 38 of 40: 95 %
        ([*off_by(0, 18, in_g=1050), step("join", [1031], [1031])], 1, None),  # 36 of 38 are fewer
    ],
)  # fmt: skip
def test_a_scale_is_told_by_what_must_agree(steps, sd_g: float, fit) -> None:
    found = fitted(steps, sd_g)
    assert found == (None if fit is None else pytest.approx(fit, rel=1e-3))
