"""The uncertainty of a yield against the GUM's published example and the ``uncertainties`` library, gains of scales shared."""

from __future__ import annotations

import random
from datetime import date
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from uncertainties import UFloat, correlated_values, ufloat, umath

from pipeline.book.book_settings import Book, Scale
from pipeline.database import settings_tables
from pipeline.database.connection import Warehouse
from tests.small_books import figures, row

STEP_G, RELATIVE = 5.0, 0.001


def test_the_library_gives_the_published_impedance() -> None:
    # JCGM 100:2008, H.2: resistance, reactance and impedance from correlated readings; R 127.732 (.071), X 219.847 (.295), Z 254.260 (.236).
    mean = (4.9990, 19.6610e-3, 1.044460)
    u = (0.0032, 0.0095e-3, 0.00075)
    r = {(0, 1): -0.36, (0, 2): 0.86, (1, 2): -0.65}
    covariance = [[u[i] * u[j] * (1 if i == j else r[min(i, j), max(i, j)]) for j in range(3)] for i in range(3)]
    voltage, current, phase = correlated_values(mean, covariance)
    found = {"R": voltage / current * umath.cos(phase), "X": voltage / current * umath.sin(phase), "Z": voltage / current}
    for name, (value, spread) in {"R": (127.732, 0.071), "X": (219.847, 0.295), "Z": (254.260, 0.236)}.items():
        assert found[name].nominal_value == pytest.approx(value, abs=0.005)
        assert found[name].std_dev == pytest.approx(spread, abs=0.002)


def by_library(blocks: list[float], loads: list[float], gain: UFloat, other: UFloat) -> UFloat:
    """The yield with the library carrying what the weighings share: each its own step, all of a scale one gain."""
    step = STEP_G / sqrt(12)
    wax = sum(gain * ufloat(m, step) for m in blocks)
    return wax / sum(other * ufloat(m, step) for m in loads)


def session(blocks: list[float], loads: list[float], **book: Any) -> dict[str, Any]:
    """The session's row in the yields."""
    harvests = "".join(f"\nH{n}, 2025-01-01, brood comb, 90000" for n in range(len(loads)))
    warehouse = figures(
        book=book,
        harvests="harvest, date, comb, mass_g" + harvests,
        loads="session, source, mass_g" + "".join(f"\nS, H{n}, {m}" for n, m in enumerate(loads)),
        passes=f"session, pass, date, method, mass_in_g, wax_out_g\nS, 1, 2025-02-01, steam, {sum(loads)}, {sum(blocks)}",
        blocks="block, date, mass_g, session" + "".join(f"\nB{n}, 2025-02-02, {m}, S" for n, m in enumerate(blocks)),
    )
    return row(warehouse, "yields_by_session", session="S")


def test_one_scale_weighs_wax_and_comb_so_that_its_gain_cancels() -> None:
    # 6.20 kg of 10.00 kg, 6 g each, a gain of half a per cent: .00071; taken as independent it would be .0044.
    scale = {"step_g": 6 * sqrt(12), "relative": 0.005}
    assert session([6200], [10000], scales={"": Scale(**scale)})["u"] == pytest.approx(0.00071, abs=5e-6)
    two = {"": Scale(**scale), "blocks": Scale(**scale)}
    assert session([6200], [10000], scales=two)["u"] == pytest.approx(0.0044, abs=5e-5)


@pytest.mark.parametrize("seed", range(10))
def test_any_session_agrees_with_the_library(seed: int) -> None:
    chance = random.Random(seed)
    loads = [chance.randrange(500, 9000) for _ in range(chance.randint(1, 4))]
    blocks = [chance.randrange(20, sum(loads) // 8) for _ in range(chance.randint(1, 5))]
    gain, other = ufloat(1, RELATIVE), ufloat(1, RELATIVE)
    one = session(blocks, loads, scales={"": Scale(STEP_G, RELATIVE)})
    assert one["yield"] == pytest.approx(by_library(blocks, loads, gain, gain).nominal_value, abs=1e-12)
    assert one["u"] == pytest.approx(by_library(blocks, loads, gain, gain).std_dev, rel=1e-9)
    two = session(blocks, loads, scales={"": Scale(STEP_G, RELATIVE), "blocks": Scale(STEP_G, RELATIVE)})
    assert two["u"] == pytest.approx(by_library(blocks, loads, gain, other).std_dev, rel=1e-9)


def test_models_and_balances_take_the_same_variance_of_a_weighing() -> None:
    book = Book(Path(), "test", scales={"": Scale(5, 0.001), "burns": Scale(0.1, 0.002)})
    warehouse = Warehouse()
    settings_tables.put(book, warehouse, date(2026, 11, 1), date(2026, 11, 1))
    for log, mass_g in (("passes", 1234.5), ("burns", 88.0), ("loads", 0.0)):
        assert warehouse.rows("SELECT u2(?, ?) AS u2", [log, mass_g])[0]["u2"] == pytest.approx(book.scale(log).variance_g2(mass_g))
