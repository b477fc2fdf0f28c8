"""One cell, as a person types it and as a log holds it: read strictly, written in the log's own unit and mark."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from pipeline.columns import SUFFIXES, Column, Kind
from pipeline.quantities import UNITS, Dimension, Marks, Refusal, read_number, read_quantity, unit_words

Value = str | int | bool | date | Fraction
_WORDS = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
_ID = re.compile(r"[\w .\-/]{1,40}")
_ORDERS = {"day-first": (2, 1, 0), "month-first": (2, 0, 1)}
_NUMBERS = (Kind.COUNT, Kind.NUMBER, Kind.MONEY, Kind.PERCENT)
_EXACT = 6  # decimals that the store keeps of a kept unit


@dataclass(frozen=True, slots=True)
class Manner:
    """How a column is written: its unit (empty: each cell carries one), the decimal mark, words it allows, date order.

    ``wary``: the log shows no decimal mark so far, so none is written before just three digits.
    """

    unit: str = ""
    decimal: str = "."
    words: tuple[str, ...] = ()
    dates: str = "iso"
    wary: bool = False


def read(column: Column, text: str, manner: Manner, marks: Marks = Marks.DOT) -> Value | Refusal:
    """What a filled cell says: quantities exact in the kept unit, or why it is refused."""
    if column.kind in SUFFIXES:
        value = read_quantity(text, Dimension(str(column.kind)), manner.unit or None, marks)
    elif column.kind in _NUMBERS:
        value = _plain(column, text, marks)
    else:
        return _word(column, text.strip(), manner)
    return value if isinstance(value, Refusal) else _within(column, value)


def write(column: Column, value: Value, manner: Manner) -> str:
    """The cell's text in a log; read again by the same manner it is the same value."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if not isinstance(value, Fraction):
        return str(value)
    unit = manner.unit or _unit_of(column)
    digits = decimal_text(value, unit)
    if manner.wary and re.search(r"\.\d{3}$", digits):
        digits += "0"
    digits = digits.replace(".", manner.decimal)
    return digits if manner.unit or not unit else f"{digits} {unit}"


def decimal_text(value: Fraction, unit: str) -> str:
    """A value in the kept unit told in ``unit``: as few decimals as give the same value back to a millionth."""
    scale = UNITS.get(unit)
    factor, offset = (scale.factor, scale.offset) if scale else (Fraction(1), Fraction(0))
    told = (value - offset) / factor
    places = next(
        p
        for p in range(2 * _EXACT + 1)
        if p == 2 * _EXACT or _rounded(_rounded(told, p) * factor + offset, _EXACT) == _rounded(value, _EXACT)
    )
    whole = str(abs(_rounded(told, places)) * 10**places).rjust(places + 1, "0")
    sign = "-" if told < 0 and whole.strip("0") else ""
    return sign + (f"{whole[:-places]}.{whole[-places:]}" if places else whole)


def _rounded(value: Fraction, places: int) -> Fraction:
    """Rounded as the store rounds: halves away from zero."""
    lifted = abs(value) * 10**places + Fraction(1, 2)
    return Fraction(lifted.numerator // lifted.denominator * (-1 if value < 0 else 1), 10**places)


def _unit_of(column: Column) -> str:
    """The unit a cell is given where the header has none: kg for masses, else the kept one."""
    return "" if column.kind not in SUFFIXES else {Kind.MASS: "kg"}.get(column.kind, SUFFIXES[column.kind][0])


def _plain(column: Column, text: str, marks: Marks) -> Fraction | Refusal:
    value = read_number(text.strip().removesuffix("%") if column.kind is Kind.PERCENT else text, marks)
    if column.kind is Kind.COUNT and isinstance(value, Fraction) and value.denominator != 1:
        return Refusal("not-whole", f"{text} is not a whole number", "count in whole pieces")
    return value


def _within(column: Column, value: Fraction) -> Fraction | Refusal:
    bounds = [
        (column.above, value <= (column.above or 0), "more than", "too-low"),
        (column.low, value < (column.low or 0), "at least", "too-low"),
        (column.high, value > (column.high or 0), "at most", "too-high"),
    ]
    for bound, broken, words, rule in bounds:
        if bound is not None and broken:
            unit = f" {SUFFIXES[column.kind][0]}" if column.kind in SUFFIXES else ""
            return Refusal(
                rule, f"{float(value):g}{unit} is outside what it can be ({words} {bound:g}{unit})", "correct it"
            )
    return value


def _word(column: Column, text: str, manner: Manner) -> Value | Refusal:
    if column.kind is Kind.DATE:
        return _date(text, manner.dates)
    if column.kind is Kind.YES_NO:
        answer = _WORDS.get(text.lower())
        return Refusal("yes-no", f"{text!r} is neither yes nor no", "write yes or no") if answer is None else answer
    if column.kind is Kind.CHOICE:
        known = {word.lower(): word for word in manner.words}
        listed = ", ".join(manner.words)
        missing = Refusal("unknown-word", f"{text!r} is not one of the words known here", f"use one of: {listed}")
        return known.get(text.lower(), missing)
    if column.kind is Kind.ID and not _ID.fullmatch(text):
        return Refusal(
            "id-form", f"{text[:60]!r} cannot be a name", "use 1-40 letters, digits, spaces and . _ - /, nothing else"
        )
    return text


def _date(text: str, order: str) -> date | Refusal:
    parts = re.fullmatch(r"(\d{4})-(\d\d)-(\d\d)", text)
    at = (0, 1, 2)
    if parts is None and order in _ORDERS:
        parts, at = re.fullmatch(r"(\d\d?)[./\-](\d\d?)[./\-](\d{4})", text), _ORDERS[order]
    if parts is None:
        return Refusal("date-form", f"{text!r} is not a date", "write year-month-day, such as 2025-08-14")
    try:
        return date(*(int(parts[n + 1]) for n in at))
    except ValueError:
        return Refusal("date-form", f"there is no {text} in the calendar", "correct the day or the month")


def asked_unit(column: Column, unit: str) -> str:
    """What a person may answer with: ``kg (or g, oz, lb)`` for a mass asked for in kg."""
    others = unit_words(Dimension(str(column.kind))) if column.kind in SUFFIXES else ""
    return f"{unit} (or {others})" if others else ""
