"""One cell as a hand typed it: read strictly, or refused with the reason and the way out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final, TypeAlias

from pipeline.contract.columns import JOINED, CellKind, Column
from pipeline.contract.columns import KEPT_UNITS as KEPT
from pipeline.contract.money import read_money
from pipeline.contract.quantities import Dimension, Marks, Refusal, read_number, read_percent, read_quantity

Typed: TypeAlias = str | int | Fraction | bool | date
"""What a cell says, exactly."""

Value: TypeAlias = str | int | float | bool | date | Decimal
"""What the store keeps of it."""

NUMERIC: Final = frozenset({*KEPT, CellKind.COUNT, CellKind.NUMBER, CellKind.MONEY, CellKind.PERCENT})
"""The kinds whose cells hold a number."""

EXACT: Final = frozenset({CellKind.MASS, CellKind.MONEY})
"""The kinds that the store keeps to the millionth, as decimals."""

YES: Final = ("yes", "true", "1")
NO: Final = ("no", "false", "0")
_YEAR: Final = 4  # digits of a whole year
_MICRO: Final = Decimal("0.000001")
_LETTERS: Final = re.compile(r"(?<![^\W\d_])[OoIl](?=[0-9.,])|(?<=[0-9])[OoIl](?=[0-9.,])|(?<=[0-9])[Oo](?![^\W\d_])")
"""Letters that stand where a digit must: 1O.5, l2, 1O oz."""


@dataclass(frozen=True, slots=True)
class Conventions:
    """How a file's cells are written: what comma and dot mean, the order of dates and the currency (as book.toml has them)."""

    marks: Marks = Marks.DOT
    dates: str = "iso"
    currency: str = "EUR"


def read_cell(text: str, column: Column, unit: str | None, how: Conventions) -> Value | Refusal:
    """The value of a typed cell in the kept unit, or why it is refused; limits and words are not looked at."""
    typed = read_typed(text, column, unit, how)
    return typed if isinstance(typed, Refusal) else stored(typed, column)


def read_typed(text: str, column: Column, unit: str | None, how: Conventions) -> Typed | Refusal:
    """What a typed cell says, exact in the kept unit, or why it cannot be read."""
    reader = _READERS.get(column.kind, _read_measure)
    if column.kind not in NUMERIC:
        return reader(text.strip(), column, unit, how)
    return letters_told(text.strip(), lambda typed: reader(typed, column, unit, how))


def letters_told(text: str, read: Callable[[str], Typed | Refusal]) -> Typed | Refusal:
    """What a reader gives of a text; a refusal that names a letter typed for a digit, where that is all that is wrong."""
    found = read(text)
    digits = _LETTERS.sub(lambda letter: "0" if letter[0] in "oO" else "1", text)
    if not isinstance(found, Refusal) or digits == text or isinstance(read(digits), Refusal):
        return found
    message = f"{text} holds the letter {' and '.join(sorted(set(_LETTERS.findall(text))))} where a digit is expected"
    return Refusal("number-form", message, f"write {digits}")


def stored(typed: Typed, column: Column) -> Value | Refusal:
    """What the store keeps of it; a refusal where it is more than the store can hold."""
    if not isinstance(typed, Fraction):
        return typed
    if column.kind not in EXACT:
        return float(typed)
    exact = Decimal(typed.numerator) / Decimal(typed.denominator)
    if abs(exact) >= 10**12:
        return Refusal("number-form", f"{exact:.3g} is more than can be meant", "look at the unit and the digits")
    return exact.quantize(_MICRO, ROUND_HALF_UP)


def _read_measure(text: str, column: Column, unit: str | None, how: Conventions) -> Typed | Refusal:
    return read_quantity(text, Dimension(column.kind.value), unit, how.marks)


def _read_number(text: str, column: Column, _unit: str | None, how: Conventions) -> Typed | Refusal:
    if column.kind is CellKind.PERCENT:
        return read_percent(text.removesuffix("%").rstrip(), how.marks)
    is_money = column.kind is CellKind.MONEY
    value = read_money(text, how.currency, how.marks) if is_money else read_number(text, how.marks)
    if column.kind is CellKind.COUNT and isinstance(value, Fraction):
        if value.denominator != 1 or abs(value) > 10**9:
            return Refusal("number-whole", f"{text} is not a whole number that can be counted", "count whole ones")
        return int(value)
    return value


def _read_date(text: str, _column: Column, _unit: str | None, how: Conventions) -> Typed | Refusal:
    if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return _day(text, text[:4], text[5:7], text[8:])
    parts = re.fullmatch(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})", text)
    if parts is None:
        return Refusal("date-form", f"{text[:40]} is not a date that can be read", _date_fix(how))
    if how.dates == "iso":
        reason = f"{text} does not say which is the day and which the month"
        fix = 'write 2025-08-14, or say dates = "day-first" or "month-first" in book.toml'
        return Refusal("date-order", reason, fix)
    first, second = parts[1], parts[3]
    day, month = (first, second) if how.dates == "day-first" else (second, first)
    year = parts[4] if len(parts[4]) == _YEAR else f"20{parts[4]}"
    read = _day(text, year, month, day)
    swapped = isinstance(read, Refusal) and isinstance(_day(text, year, day, month), date)
    return _other_order(text, parts, how) if swapped else read


def _other_order(text: str, parts: re.Match[str], how: Conventions) -> Refusal:
    """A date that is one only in the order which the book does not have."""
    first = how.dates.removesuffix("-first")
    told = parts[2].join((parts[3], parts[1], parts[4]))
    return Refusal(
        "date-form", f"{text} is no date where the {first} comes first", f"was {told} meant? Correct the date"
    )


def _day(text: str, year: str, month: str, day: str) -> Typed | Refusal:
    try:
        if year[:2] in ("19", "20"):
            return date(int(year), int(month), int(day))
        reason = f"the year {year} was found, one between 1900 and 2099 was expected"
    except ValueError:
        reason = f"{text} is not in the calendar (year {int(year)}, month {int(month)}, day {int(day)})"
    return Refusal("date-form", reason, "correct the date")


def _date_fix(how: Conventions) -> str:
    first = {"day-first": "day, month, year: 14.08.2025, or as ", "month-first": "month/day/year: 08/14/2025, or as "}
    return f"write it as {first.get(how.dates, '')}year-month-day: 2025-08-14"


def _read_yes_no(text: str, _column: Column, _unit: str | None, _how: Conventions) -> Typed | Refusal:
    word = text.lower()
    if word in YES or word in NO:
        return word in YES
    return Refusal("yes-no", f"{text[:40]} is neither yes nor no", "write yes or no")


def _read_words(text: str, _column: Column, _unit: str | None, _how: Conventions) -> Typed | Refusal:
    return text


def _read_several(text: str, _column: Column, _unit: str | None, _how: Conventions) -> Typed | Refusal:
    return JOINED.join(word.strip().lower() for word in text.split(JOINED.strip()) if word.strip())


_Reader: TypeAlias = Callable[[str, Column, str | None, Conventions], Typed | Refusal]
_READERS: Final[dict[CellKind, _Reader]] = {
    CellKind.ID: _read_words,
    CellKind.TEXT: _read_words,
    CellKind.CHOICE: _read_words,
    CellKind.WORDS: _read_several,
    CellKind.DATE: _read_date,
    CellKind.YES_NO: _read_yes_no,
    CellKind.COUNT: _read_number,
    CellKind.NUMBER: _read_number,
    CellKind.MONEY: _read_number,
    CellKind.PERCENT: _read_number,
}
