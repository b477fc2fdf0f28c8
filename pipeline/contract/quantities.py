"""Hand-typed weights, lengths, volumes, temperatures and times: exact, strict, never a guess.

``5 lb 4 oz``, ``1½ lb``, ``3/4 lb``, ``2,5 kg`` and ``170 °F`` are read; what could mean two things is refused
with the reason and the way out. Values are exact fractions in the kept unit: g, mm, ml, °C, min.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import Final, TypeAlias

from pipeline.contract import shipped_files


class Dimension(StrEnum):
    """What a quantity measures."""

    MASS = "mass"
    LENGTH = "length"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    TIME = "time"

    @property
    def said(self) -> str:
        """What people call it."""
        return "weight" if self is Dimension.MASS else self.value


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit a header or a cell may carry: canonical value = reading × ``factor`` + ``offset``."""

    name: str
    dimension: Dimension
    factor: Fraction
    offset: Fraction = Fraction(0)
    spellings: tuple[str, ...] = ()

    @property
    def small(self) -> bool:
        """Whether thousands of it are measured at a time, so that 4,230 need not be a decimal."""
        return self.name in _SMALL


class Marks(Enum):
    """What a comma or a dot before exactly three digits means in the file that it stands in.

    Before one, two, four and more digits, or after a leading zero, either mark can only be the decimal one.
    ``DOT``: the dot is decimal, a comma may be thousands (comma-separated files, forms). The others are of semicolon and
    tab files: their sure decimals show dots alone (``DOT_SHOWN``), commas alone (``COMMA``), or both or none (``UNSURE``);
    in them either mark is decimal where nobody weighs thousands, such as kilograms. Elsewhere the mark that is surely
    not decimal parts thousands: beside ``12,5`` a ``4.230`` is four thousand.
    """

    DOT = "."
    DOT_SHOWN = "dots"
    COMMA = ","
    UNSURE = ""

    @property
    def decimal(self) -> str:
        """The sure decimal mark; empty where there is none."""
        return "." if self is Marks.DOT_SHOWN else self.value


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a cell was not read: the rule, one clause that says what is wrong, and the way out."""

    rule: str
    message: str
    fix: str

    def sentence(self) -> str:
        """Message and fix on one line."""
        return f"{self.message}; {self.fix}" if self.fix else self.message


_SMALL: Final = frozenset({"g", "oz", "ml", "mm", "min"})
_PER: Final = {row["unit"]: Fraction(row["factor"]) for row in shipped_files.reference("units")}  # in the kept unit

_Reading: TypeAlias = tuple[Fraction, Unit]

_ALL: Final = (
    Unit("g", Dimension.MASS, _PER["g"], spellings=("gram", "grams", "gramme", "grammes")),
    Unit("kg", Dimension.MASS, _PER["kg"], spellings=("kgs", "kilo", "kilos", "kilogram", "kilograms")),
    Unit("oz", Dimension.MASS, _PER["oz"], spellings=("ounce", "ounces", "ozs")),
    Unit("lb", Dimension.MASS, _PER["lb"], spellings=("lbs", "pound", "pounds", "#")),
    Unit("mm", Dimension.LENGTH, _PER["mm"], spellings=("millimetre", "millimetres", "millimeter", "millimeters")),
    Unit("cm", Dimension.LENGTH, _PER["cm"], spellings=("centimetre", "centimetres", "centimeter", "centimeters")),
    Unit("in", Dimension.LENGTH, _PER["in"], spellings=("inch", "inches", '"', "″")),
    Unit("ml", Dimension.VOLUME, _PER["ml"], spellings=("millilitre", "millilitres", "milliliter", "milliliters")),
    Unit("l", Dimension.VOLUME, _PER["l"], spellings=("litre", "litres", "liter", "liters")),
    Unit("floz", Dimension.VOLUME, _PER["floz"], spellings=("fl oz", "fl. oz", "fl.oz", "fluid ounce", "fluid ounces")),
    Unit("c", Dimension.TEMPERATURE, Fraction(1), spellings=("°c", "° c", "℃", "celsius")),
    Unit("f", Dimension.TEMPERATURE, Fraction(5, 9), Fraction(-160, 9), ("°f", "° f", "℉", "fahrenheit")),
    Unit("min", Dimension.TIME, Fraction(1), spellings=("mins", "minute", "minutes")),
    Unit("h", Dimension.TIME, Fraction(60), spellings=("hr", "hrs", "hour", "hours")),
)
UNITS: Final[Mapping[str, Unit]] = MappingProxyType({unit.name: unit for unit in _ALL})
"""Every unit by its header suffix (without the underscore)."""

GRAMS: Final[Mapping[str, float]] = MappingProxyType(
    {unit.name: float(unit.factor) for unit in _ALL if unit.dimension is Dimension.MASS}
)
"""Grams in each unit of mass: g, kg, oz, lb."""

_SPELLED: Final = {word: unit for unit in _ALL for word in (unit.name, *unit.spellings)}
_PAIRS: Final = {("lb", "oz"): 16, ("kg", "g"): 1000, ("h", "min"): 60}  # pairs that people write
_EXAMPLES: Final = {
    "g": "450 g", "kg": "1.2 kg", "oz": "12 oz", "lb": "2 lb 4 oz", "mm": "60 mm", "cm": "6 cm", "in": "2.5 in", "ml": "180 ml",
    "l": "0.2 l", "floz": "6 fl oz", "c": "78 °C", "f": "172 °F", "min": "150 min", "h": "2 h 30 min",
}  # fmt: skip
_FIRST: Final = {unit.dimension: unit.name for unit in reversed(_ALL)}  # where a header has no unit
_SHOWN: Final = {"c": "°C", "f": "°F", "floz": "fl oz"}

_VULGAR: Final = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_ONE_PER_A_KIND: Final = {  # spreadsheets and phones type these for a space, a minus and a fraction bar
    **dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f\t"), " "),
    ord("−"): "-",
    ord("⁄"): "/",
}

_PART: Final = re.compile(r" ?(?P<number>[-+]?[0-9.,](?:[0-9.,/ ]*[0-9.,])?)(?P<unit>[^0-9+\-]*)")
_PLAIN: Final = re.compile(r"[-+]?([0-9]+([.,][0-9]+)?|[.,][0-9]+)")
_THOUSANDS_LIKE: Final = re.compile(r"[-+]?[1-9][0-9]{0,2}(?P<mark>[.,])[0-9]{3}")
_GROUPED: Final = re.compile(r"[-+]?[0-9]{1,3}([., ][0-9]{3})+([.,][0-9]*)?")
_SCIENTIFIC: Final = re.compile(r"[-+]?[0-9.,]+[eE][-+]?[0-9]+")
_FRACTION: Final = re.compile(r"(?P<sign>[-+]?)((?P<whole>[0-9]{1,6}) )?(?P<top>[0-9]{1,3})/(?P<low>[0-9]{1,3})")
_SETTLED: Final = (
    ', or say which mark is decimal in book.toml: decimal = "comma" or decimal = "dot"'  # not in comma files
)
_LONGEST: Final = 40  # nobody types a longer weight; keeps the patterns and the exact fractions small


def read_quantity(
    text: str, dimension: Dimension, header_unit: str | None = None, marks: Marks = Marks.DOT
) -> Fraction | Refusal:
    """The exact value of a typed quantity in g, mm, ml, °C or min, or why it is refused.

    A unit in the cell wins over ``header_unit`` (a name in ``UNITS``); with neither, the number is refused.
    """
    parts = _parts(text)
    if not parts or len(parts) > 2:
        return _not_a_number(text)
    if len(parts) == 1:
        reading = _reading(*parts[0], dimension, header_unit, marks)
        return reading if isinstance(reading, Refusal) else _canonical(*reading)
    first, second = (_reading(*part, dimension, None, marks) for part in parts)
    if isinstance(first, Refusal):
        return first
    if isinstance(second, Refusal) and (second.rule, first[1].name) == ("unit-missing", "lb"):
        return Refusal("unit-missing", f"{parts[1][0]} has no unit behind it", f"write {text.strip()} oz")
    return second if isinstance(second, Refusal) else _sum_of_pair(text, first, second)


def read_number(text: str, marks: Marks = Marks.DOT) -> Fraction | Refusal:
    """The exact value of a bare number: digits with at most one decimal mark, or a fraction (``1½``)."""
    return _number(with_one_spelling(text), marks, small=True)


def read_percent(text: str, marks: Marks = Marks.DOT) -> Fraction | Refusal:
    """The same of a share in percent, of which there are no thousands."""
    return _number(with_one_spelling(text), marks, small=False)


def in_unit(value: float, unit: str) -> float:
    """A value in g, mm, ml, °C or min, told in ``unit`` (a name in ``UNITS``), for showing."""
    return (value - float(UNITS[unit].offset)) / float(UNITS[unit].factor)


def unit_words(dimension: Dimension) -> str:
    """The units of a dimension as a person writes them: ``g, kg, oz, lb``."""
    return ", ".join(shown_unit(unit.name) for unit in _ALL if unit.dimension is dimension)


def unit_spelled(word: str) -> str:
    """The name of the unit that a word in small letters stands for (``pounds``: ``lb``); the word itself where none is."""
    return _SPELLED[word].name if word in _SPELLED else word


def shown_unit(name: str) -> str:
    """A unit's name in ``UNITS`` as a person writes it: ``°C`` for ``c``."""
    return _SHOWN.get(name, name)


def _canonical(value: Fraction, unit: Unit) -> Fraction:
    return value * unit.factor + unit.offset


def with_one_spelling(text: str) -> str:
    """One kind of space, one kind of minus, and ``1½`` as ``1 1/2``."""
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction} ")
    return re.sub(" +", " ", text.translate(_ONE_PER_A_KIND)).strip()


def _parts(text: str) -> list[tuple[str, str]]:
    """``5 lb 4 oz`` as [("5", "lb"), ("4", "oz")]; empty when the text has no such shape."""
    tidy, parts, at = with_one_spelling(text), [], 0
    if len(tidy) > _LONGEST or _SCIENTIFIC.search(tidy):
        return []
    while at < len(tidy):
        match = _PART.match(tidy, at)
        if match is None:
            return []
        parts.append((match["number"], match["unit"].strip(" .,").lower()))
        at = match.end()
    return parts


def _reading(number: str, word: str, dimension: Dimension, header_unit: str | None, marks: Marks) -> _Reading | Refusal:
    unit = _unit(number, word, dimension, header_unit)
    value = _number(number, marks, small=isinstance(unit, Refusal) or unit.small)
    if isinstance(value, Refusal):
        return value
    return unit if isinstance(unit, Refusal) else (value, unit)


def _unit(number: str, word: str, dimension: Dimension, header_unit: str | None) -> Unit | Refusal:
    known = unit_words(dimension)
    if not (word or header_unit):
        return Refusal(
            "unit-missing",
            f"{number} has no unit, neither in the cell nor in the header",
            f"write the unit behind the number or in the header (one of {known})",
        )
    unit = _SPELLED.get(word or header_unit or "")
    if unit is None and dimension is Dimension.TIME:
        return Refusal("unit-unknown", f"{number} {word} is no time in minutes or hours", "Write minutes, such as 150")
    if unit is None:
        return Refusal("unit-unknown", f"{word} is not a unit known here", f"use one of {known}")
    if unit.dimension is not dimension:
        example = _EXAMPLES[header_unit or _FIRST[dimension]]
        return Refusal(
            "unit-dimension",
            f"{shown_unit(unit.name)} measures a {unit.dimension.said}; a {dimension.said} was expected, such as {example}",
            f"use one of {known}",
        )
    return unit


def _sum_of_pair(text: str, first: _Reading, second: _Reading) -> Fraction | Refusal:
    """``5 lb 4 oz``: whole pounds, and fewer ounces than make one."""
    (large, big), (small, little) = first, second
    most = _PAIRS.get((big.name, little.name))
    unsigned = not re.search(r"[-+−]", text)
    if most is not None and unsigned and large.denominator == 1 and small < most:
        return _canonical(large, big) + _canonical(small, little)
    expected = "one number and its unit, or a pair such as 5 lb 4 oz"
    if most is not None:
        expected = f"a whole number of {big.name} and less than {most} {little.name}"
    message = f"{text.strip()} does not add up: {expected} was expected"
    return Refusal("number-form", message, "write it in one unit")


def _number(text: str, marks: Marks, *, small: bool) -> Fraction | Refusal:
    """A number; ``small``: of a unit of which there may be thousands."""
    fraction = _FRACTION.fullmatch(text)
    if fraction:
        return _fraction(text, fraction)
    if len(text) > _LONGEST or not _PLAIN.fullmatch(text):
        return _ambiguous(text, marks) if len(text) <= _LONGEST and _GROUPED.fullmatch(text) else _not_a_number(text)
    thousands = _THOUSANDS_LIKE.fullmatch(text)
    if thousands and thousands["mark"] != marks.decimal and (small or marks is Marks.DOT):
        settled = marks in (Marks.COMMA, Marks.DOT_SHOWN)
        return Fraction(text.replace(thousands["mark"], "")) if settled else _ambiguous(text, marks)
    return Fraction(text.replace(",", "."))


def _fraction(text: str, match: re.Match[str]) -> Fraction | Refusal:
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["low"])
    if bottom == 0 or (match["whole"] and top >= bottom):
        return _not_a_number(text)
    value = whole + Fraction(top, bottom)
    return -value if match["sign"] == "-" else value


def _ambiguous(text: str, marks: Marks) -> Refusal:
    settled = "" if marks is Marks.DOT else _SETTLED
    return Refusal(
        "number-ambiguous",
        f"{text} can be read in two ways, as thousands or as decimals",
        f"write it without a thousands mark, and with a clear decimal mark (1234 or 1.2340, not 1.234){settled}",
    )


def _not_a_number(text: str) -> Refusal:
    shown = text.strip() if len(text) <= _LONGEST else text.strip()[:_LONGEST] + "…"
    return Refusal("number-form", f"{shown} is not a number", "write digits with at most one decimal mark")
