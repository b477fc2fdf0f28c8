"""Amounts as text: in the book's units, to the scale's step, rounded once."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import GRAMS, Dimension, read_quantity
from pipeline.recording import question_words
from pipeline.wording.amounts import MINUS, THIN, Units
from pipeline.wording.visible_text import for_json, lines, visible

LB = 453.59237  # g, exact: international avoirdupois pound of 1959


@pytest.mark.parametrize(("ounces", "told"), [
    (114, "7 lb 2 oz"), (114.04, "7 lb 2 oz"), (114.06, "7 lb 2.1 oz"), (32, "2 lb"), (15.94, "15.9 oz"), (15.96, "1 lb"),
    (31.96, "2 lb"), (0, "0 oz"), (-114, "-7 lb 2 oz"), (-0.04, "0 oz"), (0.5, "0.5 oz"),
])  # fmt: skip
def test_pounds_and_ounces_carry_sixteen_and_have_one_minus(ounces: float, told: str) -> None:
    assert Units("lb oz").mass(ounces * LB / 16) == told


@pytest.mark.parametrize(("ounces", "told"), [(113.5, "7 lb 2 oz"), (15.5, "1 lb"), (15.4, "15 oz"), (-7.5, "-8 oz")])
def test_a_scale_of_one_ounce_shows_whole_ounces(ounces: float, told: str) -> None:
    assert Units("lb oz", step_g=LB / 16).mass(ounces * LB / 16) == told


@given(st.integers(0, 50_000), st.sampled_from([5.0, 1.0, 0.1]))
def test_pounds_and_ounces_read_back_within_half_of_what_is_shown(mass_g: int, step_g: float) -> None:
    back = read_quantity(Units("lb oz", step_g=step_g).mass(mass_g), Dimension.MASS)
    assert abs(float(back) - mass_g) <= 0.05 * GRAMS["oz"] + 1e-4  # type: ignore[arg-type]


def test_a_half_goes_up_however_the_mass_was_kept() -> None:
    """0.125 lb once stood as 0.12 and as 0.13 in one column: kept to 0.000001 g it is a little less than itself."""
    for kept in (LB / 8, Decimal("56.699046"), 56.699046):
        assert Units("lb").mass_cell(kept) == "0.13"
        assert Units("lb").mass_cell(-float(kept)) == "-0.13"


@pytest.mark.parametrize(("unit", "step_g", "mass", "reading"), [
    ("kg", 5.0, "12.35", "12.345"), ("kg", 1.0, "12.345", "12.345"), ("kg", 100.0, "12.3", "12.3"), ("g", 5.0, "12,345", "12,345"),
    ("g", 0.1, "12,345.0", "12,345.0"), ("lb", 5.0, "27.22", "27.22"), ("oz", 5.0, "435.5", "435.5"), ("lb", LB / 10, "27.2", "27.2"),
])  # fmt: skip
def test_decimals_follow_the_step_of_the_scale(unit: str, step_g: float, mass: str, reading: str) -> None:
    """The step column is arithmetic: 12,345 g is 27.216 lb or 435.46 oz."""
    units = Units(unit, step_g=step_g)
    assert (units.mass_cell(12_345), units.reading_cell(12_345)) == (mass, reading)


def test_a_sentence_tells_small_masses_in_the_small_unit() -> None:
    assert Units("kg").mass(450) == "450 g"
    assert Units("kg").mass(1_000) == "1.00 kg"
    assert Units("lb").mass(LB / 16) == "1.0 oz"
    assert Units("kg").mass(None) == "an unknown mass"


def test_a_mass_that_nobody_weighed_has_two_figures() -> None:
    assert [Units().about(g) for g in (2_837, 12_000, 283, 0)] == ["2.8 kg", "12 kg", "280 g", "0 kg"]


def test_temperatures_lengths_and_times_in_the_units_of_the_book() -> None:
    """212 °F is 100 °C and 1 in 25.4 mm, both exact; 85 °C is 185 °F."""
    metric, american = Units(), Units("lb", length_in="in", temperature_in="F")
    assert (metric.temperature(85), american.temperature(85), american.temperature(100)) == ("85 °C", "185 °F", "212 °F")
    assert (metric.degrees(12), american.degrees(12)) == ("12 °C", "22 °F")
    assert [metric.length(v) for v in (51, 22.5, 102)] == ["51 mm", "22.5 mm", "102 mm"]
    assert [american.length(v) for v in (50.8, 22.1, 101.6)] == ["2 in", "0.87 in", "4 in"]
    assert [metric.time(v) for v in (45, 150, 180, 0)] == ["45 min", "2 h 30 min", "3 h", "0 min"]
    assert (metric.volume(118.4), american.volume(118.294)) == ("118 ml", "4 fl oz")


def test_dates_come_in_the_order_of_the_book() -> None:
    day = date(2025, 12, 1)
    assert [Units(dates=d).day(day) for d in ("iso", "day-first", "month-first")] == ["2025-12-01", "1 Dec 2025", "Dec 1, 2025"]


def test_shares_chances_and_money() -> None:
    units = Units(currency="EUR")
    assert [units.share(v) for v in (0.3935, 0.12345, -0.0001)] == ["39.4 %", "12.3 %", "0.0 %"]
    assert [units.points(v, signed=True) for v in (0.0214, -0.0214, 0.0001)] == ["+2.1", "-2.1", "0.0"]
    assert [units.chance(v) for v in (1.0, 0.995, 0.99, 0.83, 0.01, 0.004, 0.0)] == [
        "over 99 %", "over 99 %", "99 %", "83 %", "1 %", "under 1 %", "under 1 %"]  # fmt: skip
    assert (units.price(420.5), units.price(-0.004), units.price(0.125)) == ("420.50 EUR", "0.00 EUR", "0.13 EUR")


def test_a_page_has_a_true_minus_and_spaces_that_do_not_break() -> None:
    assert Units("g").on_page().mass(-12_345) == f"{MINUS}12{THIN}345{THIN}g"
    assert Units("lb oz").on_page().mass(7.125 * LB) == f"7{THIN}lb 2{THIN}oz", "a narrow phone may break between the two"


@given(st.text())
def test_what_is_made_visible_steers_no_terminal(text: str) -> None:
    """C0 and C1 controls (ECMA-48) and the bidirectional controls of UAX 9 never come through."""
    shown = visible(text)
    assert not [c for c in shown if ord(c) < 32 or 127 <= ord(c) < 160 or c in "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"]
    assert len(shown) == len(text)


def test_lines_keep_their_ends_and_nothing_else_that_steers() -> None:
    assert lines("one\ntwo\x1b[31m\r\u202ethree\x9b") == "one\ntwo␛[31m␍\N{REPLACEMENT CHARACTER}three\N{REPLACEMENT CHARACTER}"


@given(st.text())
def test_json_says_the_same_in_characters_that_steer_nothing(text: str) -> None:
    written = for_json(json.dumps(text, ensure_ascii=False))
    assert json.loads(written) == text
    assert visible(written) == written


def test_our_words_are_spelled_as_in_america_where_people_weigh_in_ounces_and_measure_in_inches() -> None:
    american = Units(mass_in="lb oz", length_in="in")
    assert american.spelled("left in pots and moulds, out of draughts: the Colour") == "left in pots and molds, out of drafts: the Color"
    assert Units(mass_in="lb").spelled("colour") == Units().spelled("colour") == "colour"
    assert question_words.label(LOGS["blocks"].column("colour"), american) == "color"
    assert question_words.label(LOGS["blocks"].column("colour"), Units()) == "colour"
