"""One cell, read twice over: a SQL expression for whole columns, and a careful reader for what it leaves.

The expression gives the value where the text has the one plain form of its kind, and NULL everywhere else; what is
left goes cell by cell to ``read_cell``, which reads what people write and refuses the rest. Where both read a text,
both give the same value.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final, TypeAlias

from pipeline.columns import UNITS as KEPT
from pipeline.columns import Column, Kind
from pipeline.quantities import UNITS, Dimension, Marks, Refusal, read_number, read_quantity
from pipeline.warehouse import quoted

Value: TypeAlias = str | int | float | bool | date | Decimal

NUMERIC: Final = frozenset({*KEPT, Kind.COUNT, Kind.NUMBER, Kind.MONEY, Kind.PERCENT})
"""The kinds whose cells hold a number."""

_YES: Final = ("yes", "true", "1")
_NO: Final = ("no", "false", "0")
_DATE: Final = r"(19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}"
_EXACT: Final = frozenset({Kind.MASS, Kind.MONEY})
_MICRO: Final = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class Manner:
    """How a file's cells are written: what comma and dot mean, and the order of dates (as book.toml has it)."""

    marks: Marks = Marks.DOT
    dates: str = "iso"


def fast(column: Column, unit: str | None, cell: str, manner: Manner, words: tuple[str, ...]) -> str:
    """The SQL expression that reads a plain cell of this column, ``cell`` being the quoted name of its text."""
    if column.kind in (Kind.ID, Kind.TEXT):
        return f"trim({cell})"
    if column.kind is Kind.CHOICE:
        return _choice(cell, words)
    if column.kind is Kind.DATE:
        return f"CASE WHEN regexp_matches({cell}, '^{_DATE}$') THEN try_cast({cell} AS DATE) END"
    if column.kind is Kind.YES_NO:
        yes, no = (", ".join(map(quoted, group)) for group in (_YES, _NO))
        return f"CASE WHEN lower(trim({cell})) IN ({yes}) THEN true WHEN lower(trim({cell})) IN ({no}) THEN false END"
    return _number(column, unit, cell, manner.marks)


def _choice(cell: str, words: tuple[str, ...]) -> str:
    """Without regard to case; a word that book.toml writes with capitals keeps them."""
    capitals = "".join(f" WHEN {quoted(w.lower())} THEN {quoted(w)}" for w in words if w != w.lower())
    plain = f"lower(trim({cell}))"
    return f"CASE {plain}{capitals} ELSE {plain} END" if capitals else plain


def _number(column: Column, unit: str | None, cell: str, marks: Marks) -> str:
    if column.kind in KEPT and unit is None:
        return f"NULL::{column.stored}"
    if column.kind is Kind.COUNT:
        return f"CASE WHEN regexp_matches({cell}, '^[+-]?[0-9]{{1,9}}$') THEN try_cast({cell} AS INTEGER) END"
    decimals = rf"(\{marks.value}[0-9]{{1,6}})?" if marks.value else ""
    form = f"regexp_matches({cell}, '^[+-]?[0-9]{{1,8}}{decimals}$')"
    digits = f"replace({cell}, ',', '.')" if marks is Marks.COMMA else cell
    narrow = "DECIMAL(14,6)" if column.kind in _EXACT else "DOUBLE"
    return f"CASE WHEN {form} THEN ({_kept(f'try_cast({digits} AS {narrow})', unit)})::{column.stored} END"


def _kept(value: str, unit: str | None) -> str:
    """A SQL value of a unit in the kept unit."""
    told = UNITS[unit] if unit else None
    if told is None or (told.factor == 1 and not told.offset):
        return value
    if told.dimension is Dimension.MASS:
        wide = value if told.factor.denominator == 1 else f"({value})::DECIMAL(24,6)"
        return f"{wide} * {_decimal(told.factor)}"
    degrees = f"({value} - 32)" if told.offset else value
    return f"{degrees} * {told.factor.numerator} / {told.factor.denominator}"


def _decimal(factor: Fraction) -> str:
    """A mass factor as an exact SQL literal: 453.59237, 28.349523125, 1000."""
    return str((Decimal(factor.numerator) / Decimal(factor.denominator)).normalize().__format__("f"))


def read_cell(text: str, column: Column, unit: str | None, manner: Manner) -> Value | Refusal:
    """The value of a typed cell in the kept unit, or why it is refused; limits and words are not looked at."""
    reader = _READERS.get(column.kind, _read_measure)
    return reader(text.strip(), column, unit, manner)


def _read_measure(text: str, column: Column, unit: str | None, manner: Manner) -> Value | Refusal:
    return _stored(read_quantity(text, Dimension(column.kind.value), unit, manner.marks), column)


def _read_number(text: str, column: Column, _unit: str | None, manner: Manner) -> Value | Refusal:
    if column.kind is Kind.PERCENT:
        text = text.removesuffix("%").rstrip()
    value = read_number(text, manner.marks)
    if column.kind is Kind.COUNT and isinstance(value, Fraction):
        if value.denominator != 1 or abs(value) > 10**9:
            return Refusal("number-whole", f"{text} is not a whole number that can be counted", "count whole ones")
        return int(value)
    return _stored(value, column)


def _stored(value: Fraction | Refusal, column: Column) -> Value | Refusal:
    if isinstance(value, Refusal) or column.kind not in _EXACT:
        return value if isinstance(value, Refusal) else float(value)
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    if abs(exact) >= 10**12:
        return Refusal("number-form", f"{exact:.3g} is more than can be meant", "look at the unit and the digits")
    return exact.quantize(_MICRO, ROUND_HALF_UP)


def _read_date(text: str, _column: Column, _unit: str | None, manner: Manner) -> Value | Refusal:
    if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return _day(text, text[:4], text[5:7], text[8:])
    parts = re.fullmatch(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})", text)
    if parts is None:
        return Refusal("date-form", f"{text[:40]} is not a date that can be read", _date_fix(manner))
    if manner.dates == "iso":
        reason = f"{text} does not say which is the day and which the month"
        fix = 'write 2025-08-14, or say dates = "day-first" or "month-first" in book.toml'
        return Refusal("date-order", reason, fix)
    first, second = parts[1], parts[3]
    day, month = (first, second) if manner.dates == "day-first" else (second, first)
    return _day(text, parts[4], month, day)


def _day(text: str, year: str, month: str, day: str) -> Value | Refusal:
    try:
        if year[:2] in ("19", "20"):
            return date(int(year), int(month), int(day))
        reason = f"the year {year} was found, one between 1900 and 2099 was expected"
    except ValueError:
        reason = f"{text} is not in the calendar (year {int(year)}, month {int(month)}, day {int(day)})"
    return Refusal("date-form", reason, "correct the date")


def _date_fix(manner: Manner) -> str:
    also = {"day-first": " or 14.08.2025", "month-first": " or 08/14/2025"}.get(manner.dates, "")
    return f"write it as year-month-day: 2025-08-14{also}"


def _read_yes_no(text: str, _column: Column, _unit: str | None, _manner: Manner) -> Value | Refusal:
    word = text.lower()
    if word in _YES or word in _NO:
        return word in _YES
    return Refusal("yes-no", f"{text[:40]} is neither yes nor no", "write yes or no")


def _read_words(text: str, _column: Column, _unit: str | None, _manner: Manner) -> Value | Refusal:
    return text


_Reader: TypeAlias = Callable[[str, Column, str | None, Manner], Value | Refusal]
_READERS: Final[dict[Kind, _Reader]] = {
    Kind.ID: _read_words,
    Kind.TEXT: _read_words,
    Kind.CHOICE: _read_words,
    Kind.DATE: _read_date,
    Kind.YES_NO: _read_yes_no,
    Kind.COUNT: _read_number,
    Kind.NUMBER: _read_number,
    Kind.MONEY: _read_number,
    Kind.PERCENT: _read_number,
}
