"""Whole columns read by a SQL expression: the value where the text has the one plain form of its kind, else NULL.

What is left goes cell by cell to the careful reader in ``hand.py``. Where both read a text, both give the same value.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

from pipeline.columns import UNITS as KEPT
from pipeline.columns import Column, Kind
from pipeline.quantities import UNITS, Dimension, Marks
from pipeline.reading.hand import EXACT, NO, YES, Manner
from pipeline.warehouse import quoted

_DATE: Final = r"(19|20)[0-9]{2}-[0-9]{2}-[0-9]{2}"


def fast(column: Column, unit: str | None, cell: str, manner: Manner, words: tuple[str, ...]) -> str:
    """The SQL expression that reads a plain cell of this column, ``cell`` being the quoted name of its text."""
    if column.kind in (Kind.ID, Kind.TEXT):
        return f"trim({cell})"
    if column.kind is Kind.CHOICE:
        return _choice(cell, words)
    if column.kind is Kind.DATE:
        return f"CASE WHEN regexp_matches({cell}, '^{_DATE}$') THEN try_cast({cell} AS DATE) END"
    if column.kind is Kind.YES_NO:
        yes, no = (", ".join(map(quoted, group)) for group in (YES, NO))
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
    narrow = "DECIMAL(14,6)" if column.kind in EXACT else "DOUBLE"
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
