"""One cell, as a person types it and as a log holds it: read strictly, written in the log's own unit and mark."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from pipeline.contract.columns import SUFFIXES, CellKind, Column, broken_limit
from pipeline.contract.quantities import UNITS, Marks, Refusal
from pipeline.contract.weight_arithmetic import is_sum, read_sum
from pipeline.reading.cell_reader import Conventions, Typed, letters_told, read_typed, stored
from pipeline.reading.reading_rule_sentences import rule_told
from pipeline.reading.record_reader import LONGEST

_EXACT = 6  # decimals that the store keeps of a kept unit


@dataclass(frozen=True, slots=True)
class ColumnForm:
    """How a column is written: its unit (empty: each cell carries one), the decimal mark, words it allows, date order, currency.

    ``vessels`` are the empty weights, in g, that may be taken off a weight.
    ``wary``: the log shows no decimal mark so far, so none is written before just three digits.
    """

    unit: str = ""
    decimal: str = "."
    words: tuple[str, ...] = ()
    dates: str = "iso"
    wary: bool = False
    currency: str = "EUR"
    vessels: Mapping[str, float] = field(default_factory=dict)


def read(column: Column, text: str, manner: ColumnForm, marks: Marks = Marks.DOT) -> Typed | Refusal:
    """What a filled cell says, exact in the kept unit, or why it is refused: as a build would read it."""
    how = Conventions(marks, manner.dates, manner.currency)
    if column.kind is CellKind.MASS and is_sum(text):
        typed: Typed | Refusal = letters_told(text, lambda summed: read_sum(summed, marks, manner.vessels))
    else:
        typed = read_typed(text, column, manner.unit or None, how)
    if isinstance(typed, str):
        typed = _fits(typed) or {word.lower(): word for word in manner.words}.get(typed.lower(), typed)
    kept = typed if isinstance(typed, Refusal) else stored(typed, column)
    if isinstance(kept, Refusal) or isinstance(typed, Refusal):
        return kept  # type: ignore[return-value]  # a refusal in either case
    broken = broken_limit(column, kept, manner.words)
    return rule_told(column, *broken, typed=text) if broken else typed


def write(column: Column, value: Typed, manner: ColumnForm, decimals: int = _EXACT) -> str:
    """The cell's text in a log; read again by the same manner it is the same value, to so many decimals of the kept unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if not isinstance(value, Fraction):
        return str(value)
    unit = manner.unit or _unit_of(column)
    digits = decimal_text(value, unit, decimals)
    if manner.wary and re.search(r"\.\d{3}$", digits):
        digits += "0"
    digits = digits.replace(".", manner.decimal)
    return digits if manner.unit or not unit else f"{digits} {unit}"


def decimal_text(value: Fraction, unit: str, decimals: int = _EXACT) -> str:
    """A value in the kept unit told in ``unit``: as few decimals as give the same value back to ``decimals`` of the kept one."""
    scale = UNITS.get(unit)
    factor, offset = (scale.factor, scale.offset) if scale else (Fraction(1), Fraction(0))
    told = (value - offset) / factor
    places = next(
        p
        for p in range(2 * _EXACT + 1)
        if p == 2 * _EXACT or _rounded(_rounded(told, p) * factor + offset, decimals) == _rounded(value, decimals)
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
    return "" if column.kind not in SUFFIXES else {CellKind.MASS: "kg"}.get(column.kind, SUFFIXES[column.kind][0])


_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def _fits(text: str) -> Refusal | None:
    """Why a note cannot stand in a log; None where it can."""
    if len(text) > LONGEST:
        return Refusal("cell-length", f"it is {len(text)} characters long, {LONGEST} are the most", "shorten it")
    if _NOT_TEXT.search(text):
        return Refusal("file-encoding", "it holds a character that is no letter", "type it again")
    return None
