"""Hand-typed quantities: worked by hand, and against pint as the oracle."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.contract.columns import KEPT_UNITS as KEPT
from pipeline.contract.columns import CellKind
from pipeline.contract.quantities import UNITS, Dimension, Marks, Refusal, in_unit, read_number, read_quantity
from pipeline.contract.weight_arithmetic import is_sum, read_sum

LB, OZ = Fraction("453.59237"), Fraction("28.349523125")


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("5 lb 4 oz", 5 * LB + 4 * OZ),
        ("5lb4oz", 5 * LB + 4 * OZ),
        ("5 lbs, 4.5 oz", 5 * LB + Fraction("4.5") * OZ),
        ("1½ lb", Fraction(3, 2) * LB),
        ("1 1/2 lb", Fraction(3, 2) * LB),
        ("3/4 lb", Fraction(3, 4) * LB),
        ("½lb", LB / 2),
        ("2,5 kg", Fraction(2500)),
        ("2.5 KG", Fraction(2500)),
        ("1.35 kg", Fraction(1350)),
        ("1 kg 250 g", Fraction(1250)),
        ("0,125 kg", Fraction(125)),
        ("12\u202fkg", Fraction(12000)),
        (" 7 ounces ", 7 * OZ),
        ("-3 g", Fraction(-3)),
        ("−3 g", Fraction(-3)),
        (".5 kg", Fraction(500)),
    ],
)
def test_masses_as_people_write_them(typed: str, grams: Fraction) -> None:
    assert read_quantity(typed, Dimension.MASS) == grams


@pytest.mark.parametrize(
    ("typed", "dimension", "value"),
    [
        ("170 °F", Dimension.TEMPERATURE, Fraction(230, 3)),  # (170 - 32) × 5/9 = 76.67 °C
        ("170F", Dimension.TEMPERATURE, Fraction(230, 3)),
        ("212 ℉", Dimension.TEMPERATURE, Fraction(100)),
        ("-40 °F", Dimension.TEMPERATURE, Fraction(-40)),
        ("75 °C", Dimension.TEMPERATURE, Fraction(75)),
        ('2½"', Dimension.LENGTH, Fraction("63.5")),
        ("7 cm", Dimension.LENGTH, Fraction(70)),
        ("8 fl oz", Dimension.VOLUME, Fraction("236.5882365")),  # 29.573 529 562 5 ml each, by its definition
        ("8 fl. oz.", Dimension.VOLUME, Fraction("236.5882365")),
        ("0.25 L", Dimension.VOLUME, Fraction(250)),
        ("1 h 30 min", Dimension.TIME, Fraction(90)),
        ("1½ hours", Dimension.TIME, Fraction(90)),
    ],
)
def test_other_dimensions(typed: str, dimension: Dimension, value: Fraction) -> None:
    assert read_quantity(typed, dimension) == value


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        ("5", "unit-missing"),
        ("5 lb 4", "unit-missing"),
        ("500 gr", "unit-unknown"),  # grains or grams: not said
        ("5 stone", "unit-unknown"),
        ("5 ml", "unit-dimension"),
        ("8 fl oz", "unit-dimension"),
        ("75 °C", "unit-dimension"),
        ("1,234 kg", "number-ambiguous"),
        ("1.234,5 kg", "number-ambiguous"),
        ("1,234.5 kg", "number-ambiguous"),
        ("1 234 g", "number-ambiguous"),
        ("nan kg", "number-form"),
        ("inf", "number-form"),
        ("1.5e3 g", "number-form"),
        ("5 lb 16 oz", "number-form"),
        ("5.5 lb 4 oz", "number-form"),
        ("-5 lb 4 oz", "number-form"),
        ("4 oz 5 lb", "number-form"),
        ("1 lb 2 oz 3 g", "number-form"),
        ("1 3/2 lb", "number-form"),
        ("1/0 lb", "number-form"),
        ("kg", "number-form"),
        ("", "number-form"),
        ("1.2.3 kg", "number-form"),
        ("٣ kg", "number-form"),
        ("²³ kg", "number-form"),
        ("9" * 5000 + " kg", "number-form"),
    ],
)
def test_what_could_be_misread_is_refused(typed: str, rule: str) -> None:
    refused = read_quantity(typed, Dimension.MASS)
    assert isinstance(refused, Refusal)
    assert refused.rule == rule
    assert len(refused.message) < 200
    assert refused.fix


@pytest.mark.parametrize("typed", ["3-4 kg", "5 lb +4 oz", "3 - 4 kg", "1-1/2 lb"])
def test_ranges_and_signs_inside_a_weight_are_refused(typed: str) -> None:
    assert isinstance(read_quantity(typed, Dimension.MASS), Refusal)
    assert isinstance(read_quantity(typed, Dimension.MASS, "kg"), Refusal)


@pytest.mark.parametrize(
    "typed", ["1_0", "0x10", "1e5", "NaN", "Infinity", "1 2", "5.", "5 %", "--5", "+-5", "1/2/3"]
)
def test_what_a_language_reads_but_a_person_does_not_write_is_no_number(typed: str) -> None:
    assert isinstance(read_number(typed), Refusal)


def test_three_digits_behind_a_mark_are_read_by_what_the_file_shows() -> None:
    assert read_number("1.234", Marks.DOT) == Fraction("1.234")
    assert read_number("1,234", Marks.COMMA) == Fraction("1.234")
    assert read_number("1.234", Marks.COMMA) == read_number("1,234", Marks.DOT_SHOWN) == 1234  # the other mark is the decimal
    assert read_quantity("1.234", Dimension.MASS, "kg", Marks.COMMA) == 1234  # nobody weighs a thousand kilograms
    twofold = [("1,234", Marks.DOT), ("1.234", Marks.UNSURE), ("1,234", Marks.UNSURE)]
    for text, marks in twofold:
        assert isinstance(read_number(text, marks), Refusal)
    for marks in Marks:
        assert read_number("1,5", marks) == read_number("1.5", marks) == Fraction("1.5")
        assert read_number("0,125", marks) == Fraction("0.125")
        assert read_number("1234.567", marks) == Fraction("1234.567")


def test_a_unit_in_the_cell_wins_over_the_header() -> None:
    assert read_quantity("2 lb", Dimension.MASS, "kg") == 2 * LB
    assert read_quantity("2", Dimension.MASS, "kg") == 2000
    assert read_quantity("¾", Dimension.MASS, "lb") == Fraction(3, 4) * LB


PINT = {"c": "degC", "f": "degF", "floz": "fluid_ounce", "l": "liter", "in": "inch"}


@pytest.mark.parametrize("name", UNITS)
@settings(deadline=None)
@given(number=st.decimals(min_value=0, max_value=9999, places=2))
def test_every_unit_agrees_with_pint(name: str, number: object) -> None:
    registry = pint.get_application_registry()
    unit = UNITS[name]
    kept = KEPT[CellKind(unit.dimension)]
    typed = registry.Quantity(float(str(number)), PINT.get(name, name))
    oracle = typed.to(PINT.get(kept, kept)).magnitude
    for spelling in (name, *unit.spellings):
        ours = read_quantity(f"{number} {spelling}", unit.dimension)
        assert not isinstance(ours, Refusal), ours
        assert float(ours) == pytest.approx(oracle, rel=1e-12, abs=1e-9)


@settings(deadline=None)
@given(pounds=st.integers(0, 500), ounces=st.decimals(0, "15.99", places=2))
def test_compound_weights_are_the_sum_of_their_parts(pounds: int, ounces: object) -> None:
    registry = pint.get_application_registry()
    oracle = (pounds * registry.pound + float(str(ounces)) * registry.ounce).to("gram").magnitude
    ours = read_quantity(f"{pounds} lb {ounces} oz", Dimension.MASS)
    assert not isinstance(ours, Refusal)
    assert float(ours) == pytest.approx(oracle, rel=1e-12)


@settings(deadline=None)
@given(value=st.floats(-1e6, 1e6), unit=st.sampled_from(sorted(UNITS)))
def test_showing_is_the_inverse_of_reading(value: float, unit: str) -> None:
    kept = Fraction(value) * UNITS[unit].factor + UNITS[unit].offset
    assert in_unit(float(kept), unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(st.text(max_size=60), st.sampled_from(Dimension), st.sampled_from(Marks))
def test_any_text_gives_a_value_or_a_refusal(text: str, dimension: Dimension, marks: Marks) -> None:
    read = read_quantity(text, dimension, None, marks)
    assert isinstance(read, Fraction | Refusal)


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("2 lb 3 oz + 1 lb", "1445.83"),  # (2 + 3/16 + 1) × 453.59237, to 0.01 g
        ("10 lb 6 oz - crock", "4206.02"),  # 10.375 × 453.59237 - 500
        ("1 kg + 200 g - 50 g", "1150"),
    ],
)
def test_sums_and_differences_with_vessels(typed: str, grams: str) -> None:
    assert read_sum(typed, Marks.DOT, {"crock": 500.0}) == Fraction(grams)


@pytest.mark.parametrize("typed", ["1 kg - kettle", "1 + 2", "400 g - crock", "1 kg - 1 kg", "1 kg +  + 1 kg"])
def test_sums_that_cannot_be_worked_out_are_refused(typed: str) -> None:
    assert isinstance(read_sum(typed, Marks.DOT, {"crock": 500.0}), Refusal)


def test_a_single_weight_is_no_sum() -> None:
    assert not is_sum("10 lb 6 oz")
