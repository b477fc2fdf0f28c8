"""Slips of the pen by hand: which weights one slip could have turned into what stands in a cell, and how likely each is."""

from __future__ import annotations

from math import exp

import pytest

from pipeline.analyses.typing_slips import PRIOR, Candidate, Typed, candidates, grams

LB, OZ = 453.59237, 28.349523125  # international pound and ounce
POTS = {"pot": 1840.0, "bowl": 620.0}


def of(kind: str, text: str, unit: str, step_g: float = 0.0, near=()) -> list[Candidate]:
    typed = Typed(text, unit)
    return [c for c in candidates(typed, grams(typed) or 0.0, POTS, step_g, near) if c.kind == kind]


def masses(*asked) -> list[float]:
    return [round(c.mass_g, 6) for c in of(*asked)]


def test_the_shares_of_all_kinds_are_one_whole() -> None:
    assert sum(PRIOR.values()) == pytest.approx(1)


@pytest.mark.parametrize(
    ("kind", "text", "unit", "step_g", "meant"),
    [
        ("digits swapped", "4.31", "kg", 0, [3410, 4130]),
        ("digits swapped", "4.41", "kg", 0, [4140]),  # equal digits swapped are the same number
        ("digits swapped", "10.5", "g", 0, [15]),  # nobody means 01.5
        ("digits swapped", "12,5", "g", 0, [21.5, 15.2]),
        ("digits swapped", "4 lb 31 oz", "lb", 0, [round(4 * LB + 13 * OZ, 6)]),  # not over a word
        ("one digit", "3", "g", 0, [1, 2, 4, 5, 6, 7, 8, 9]),  # a weight of nothing is no slip
        ("one digit", "3", "g", 5, [2, 4, 5, 6, 7, 8, 9]),  # nor is less than half of what stands there, or half a step
        ("one digit", "13", "g", 5, [23, 33, 43, 53, 63, 73, 83, 93, 10, 11, 12, 14, 15, 16, 17, 18, 19]),
        ("one digit", "3.05", "g", 0, [*(x + 0.05 for x in (0, 1, 2, 4, 5, 6, 7, 8, 9)), *(3.05 + x / 10 for x in range(1, 10)),
                                        *(3 + x / 100 for x in (0, 1, 2, 3, 4, 6, 7, 8, 9))]),
        ("decimal point", "0.05", "kg", 5, [5, 500, 5000]),  # half a gram is under half a step
        ("decimal point", "0.05", "kg", 10, [500, 5000]),  # half a step is too little
        ("decimal point", "0.05", "kg", 0, [0.5, 5, 500, 5000]),
        ("unit", "2", "oz", 0, [2, 2000, round(2 * LB, 6)]),
        ("vessel", "1", "kg", 0, [380, 2840, 1620]),  # less than the pot itself is no wax in the pot
        ("pounds and ounces", "3.3", "lb", 0, [round(3 * LB + 3 * OZ, 6)]),
        ("pounds and ounces", "3,15", "lb", 0, [round(3 * LB + 15 * OZ, 6)]),
        ("pounds and ounces", "3.01", "lb", 0, [round(3 * LB + OZ, 6)]),
        ("pounds and ounces", "3.16", "lb", 0, []),  # sixteen ounces are a pound
        ("pounds and ounces", "3.0", "lb", 0, []),
        ("pounds and ounces", "3", "lb", 0, []),
        ("pounds and ounces", "3.3", "kg", 0, []),
        ("pounds and ounces", ".5", "lb", 0, [round(5 * OZ, 6)]),
        ("pounds and ounces", "3 lb 3 oz", "lb", 0, [round(3.3 * LB, 6)]),
        ("pounds and ounces", "3 lb 3.5 oz", "lb", 0, []),
    ],
)  # fmt: skip
def test_what_one_slip_could_have_been(kind: str, text: str, unit: str, step_g: float, meant: list[float]) -> None:
    assert sorted(masses(kind, text, unit, step_g)) == pytest.approx(sorted(meant))


@pytest.mark.parametrize(
    ("text", "near", "number"),
    [
        ("4.31", ["2.31"], 99),  # any two digits may have stood there
        ("4.31", ["9.99", "0.31 kg"], 99),
        ("4.31", ["2.13"], 0),
        ("4.31", ["4.31"], 0),  # the row above is the very same: nothing was taken over
        ("31", ["2.31"], 0),  # a number of two digits has no tail
    ],
)
def test_the_last_two_digits_may_be_the_neighbouring_rows(text: str, near, number: int) -> None:
    found = masses("neighbour's digits", text, "kg", 0, near)
    assert len(found) == number
    if number:
        assert {4000, 4300, 4320, 4990} < set(found)
        assert 4310 not in found


@pytest.mark.parametrize(
    ("kind", "text", "unit", "step_g", "share"),
    [  # the share of the kind, evenly over what may have been meant
        ("digits swapped", "4.31", "kg", 0, 0.17 / 2),
        ("one digit", "3", "g", 0, 0.16 / 8),
        ("decimal point", "4.31", "kg", 0, 0.14 / 4),
        ("unit", "4.31", "kg", 0, 0.14 / 3),
        ("vessel", "4.31", "kg", 0, 0.12 / 4),
        ("pounds and ounces", "3.3", "lb", 0, 0.05),
        ("digits swapped", "4.301", "kg", 1, 0.17 / 3),
        ("unit", "4.301", "kg", 20, 0.14 / 2),  # 4.301 g is under half a step; who took the wrong unit, or the pot, read another number
        ("vessel", "4.301", "kg", 20, 0.12 / 4),
        ("pounds and ounces", "3.3", "lb", 5, 0.05),  # a scale of pounds has no steps of grams
        ("one digit", "3", "oz", 5, 0.16 / 8),
    ],
)
def test_a_kinds_share_is_divided_among_what_may_have_been_meant(kind: str, text: str, unit: str, step_g: float, share: float) -> None:
    assert [exp(c.log_share) for c in of(kind, text, unit, step_g)] == pytest.approx([share] * len(of(kind, text, unit, step_g)))


def test_what_the_scale_could_not_show_counts_a_tenth() -> None:
    """On steps of 20 g 3401 is a twentieth of a step off, 4310 half a one; 420 is one, and 042 nobody means."""
    found = {round(c.mass_g): exp(c.log_share) for c in of("digits swapped", "4.301", "kg", 20)}
    assert found == pytest.approx({3401: 0.017 / 3, 4031: 0.017 / 3, 4310: 0.017 / 3})
    assert {round(c.mass_g): exp(c.log_share) for c in of("digits swapped", "402", "g", 20)} == pytest.approx({420: 0.17})


@pytest.mark.parametrize(
    ("text", "detail", "coarse_g"),
    [("3.3", "3 lb 3 oz", OZ), ("3 lb 3 oz", "3.3 lb", LB / 10), ("3 lb 12 oz", "3.12 lb", LB / 100), (".5", "0 lb 5 oz", OZ)],
)
def test_pounds_and_ounces_are_as_coarse_as_they_are_written(text: str, detail: str, coarse_g: float) -> None:
    (found,) = of("pounds and ounces", text, "lb")
    assert (found.detail, found.coarse_g) == (detail, pytest.approx(coarse_g))
    assert {c.coarse_g for c in of("one digit", text, "lb")} == {0.0}


@pytest.mark.parametrize(
    ("text", "unit", "mass_g"),
    [
        ("4.31", "kg", 4310), ("4.31", "g", 4.31), (".5", "lb", LB / 2), ("5 lb 4 oz", "lb", 5 * LB + 4 * OZ), ("5 oz", "oz", 5 * OZ),
        ("5 4", "lb", None), ("5 lb 4", "lb", None), ("5 4 oz", "oz", None), ("5 lb 4 oz 3", "lb", None), ("", "kg", None),
    ],
)  # fmt: skip
def test_a_text_is_one_number_or_pounds_and_ounces(text: str, unit: str, mass_g: float | None) -> None:
    assert grams(Typed(text, unit)) == (None if mass_g is None else pytest.approx(mass_g))


def test_only_a_vessels_weight_is_taken_off_twice() -> None:
    found = [*candidates(Typed("4.31", "kg"), 4310, POTS, 5, ["2.31"]), *of("pounds and ounces", "3.3", "lb"), *of("pounds and ounces", "3 lb 3 oz", "lb")]
    assert {(c.mass_g, c.detail) for c in found if c.kind == "vessel"} == {(2470, "pot"), (6150, "pot"), (3690, "bowl"), (4930, "bowl")}
    assert all(c.taken_off == (c.mass_g > 4310) for c in found if c.kind == "vessel")
    assert {(c.kind, c.detail) for c in found if c.taken_off} == {("vessel", "pot"), ("vessel", "bowl")}
    assert {c.kind for c in found} >= {"digits swapped", "one digit", "decimal point", "unit", "pounds and ounces", "neighbour's digits"}


def test_of_a_weight_of_nothing_no_slip_is_proposed() -> None:
    assert candidates(Typed("0", "kg"), 0.0, POTS, 5) == []
    assert candidates(Typed("-3", "g"), -3.0, POTS, 5) == []
