"""A formula says the same as Python and as SQL, and what books of formulas say."""

from __future__ import annotations

from math import pi

import pytest

from pipeline.contract.formulas_in_sql_and_python import density_g_per_ml, frustum_ml, variance_g2
from tests.small_books import figures


def test_sql_and_python_agree() -> None:
    book = figures()
    (found,) = book.rows(
        "SELECT frustum_ml(60.0, 72.5, 81.0) AS ml, density(0.8, 0.2, 0.06, 0.96, 0.92, 0.95) AS rho, u2('passes', 1234.5) AS u2"
    )
    assert found["ml"] == pytest.approx(frustum_ml(60.0, 72.5, 81.0), rel=1e-14)
    assert found["rho"] == pytest.approx(density_g_per_ml([(0.8, 0.96), (0.2, 0.92), (0.06, 0.95)]), rel=1e-14)
    assert found["u2"] == pytest.approx(variance_g2(5, 0.001, 1234.5), rel=1e-14)


def test_a_frustum_is_a_cylinder_where_its_ends_are_alike_and_a_cone_where_one_is_a_point() -> None:
    """Euclid, Elements XII.10: a cone is a third of the cylinder about it."""
    assert frustum_ml(100.0, 100.0, 100.0) == pytest.approx(250 * pi)
    assert frustum_ml(100.0, 0.0, 100.0) == pytest.approx(250 * pi / 3)


def test_equal_volumes_mix_to_the_mean_density() -> None:
    assert density_g_per_ml([(0.96, 0.96), (0.92, 0.92)]) == pytest.approx(0.94)
    assert density_g_per_ml([(3.0, 0.95)]) == pytest.approx(0.95)


def test_the_variance_of_a_weighing_is_a_rectangle_and_a_share_of_the_reading() -> None:
    """JCGM 100:2008, 4.3.7: a rectangle of half-width a has the variance a^2/3; a step of 6 g: 3 g^2."""
    assert variance_g2(6, 0.0, 900.0) == pytest.approx(3)
    assert variance_g2(6, 0.01, 200.0) == pytest.approx(3 + 4)
