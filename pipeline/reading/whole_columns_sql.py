"""Whole columns read by SQL: the value where a cell's text has the one plain form of its kind, else NULL.

What is left goes cell by cell to the careful reader in ``cell_reader.py``. Where both read a text, both give the same value.
A row is *odd* where one of its cells needs a second look; the others, nearly all of a long log, are done with at once.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

from pipeline.contract.columns import ID_LONGEST, CellKind, Column
from pipeline.contract.columns import KEPT_UNITS as KEPT
from pipeline.contract.quantities import UNITS, Dimension, Marks
from pipeline.database.connection import quoted
from pipeline.reading.cell_reader import EXACT, NO, YES, Conventions
from pipeline.reading.column_limits_sql import breaks

PLAIN_NAME: Final = r"^(\w{4}[\w./-]*|[A-Za-z_]{1,2}[0-9_./-][\w./-]*|\w{1,3}|[A-Za-z]+( [A-Za-z0-9]+)+)$"
"""Names of the usual letters, or words as in ``jar large``, that no spreadsheet made: a date as it writes one has a mark
behind one or two digits, or a dash behind three letters. (In SQL a ``\\w`` is a letter without an accent, a digit or an
underscore.)"""


def lax(column: Column, unit: str | None, cell: str, how: Conventions) -> str:
    """The SQL value of a cell, right where its text is plain; ``cell`` is the quoted name of its text."""
    if column.kind is CellKind.TEXT:
        return f"nullif(trim({cell}), '')"
    if column.kind in (CellKind.ID, CellKind.CHOICE, CellKind.WORDS):
        return cell
    if column.kind is CellKind.YES_NO:
        yes, no = (", ".join(map(quoted, group)) for group in (YES, NO))
        return f"CASE WHEN lower(trim({cell})) IN ({yes}) THEN true WHEN lower(trim({cell})) IN ({no}) THEN false END"
    if column.kind in (CellKind.DATE, CellKind.COUNT):
        return f"try_cast({cell} AS {column.stored})"
    return _number(column, unit, cell, how.marks)


def plain(column: Column, cell: str, value: str, how: Conventions) -> str:
    """A SQL condition, true where a filled cell has the plain form of its kind; ``value`` is its lax value.

    The database reads more than a person should write: a date with a time behind it, 12.5 as 13. Dates and counts
    are plain where they read back as they were typed.
    """
    if column.kind in (CellKind.ID, CellKind.WORDS):
        form = PLAIN_NAME if column.kind is CellKind.ID else "^[a-z]+$"
        return f"regexp_matches({cell}, {quoted(form)}) AND strlen({cell}) <= {ID_LONGEST}"
    if column.kind is CellKind.DATE:
        return f"{value}::VARCHAR = {cell} AND {value} BETWEEN DATE '1900-01-01' AND DATE '2099-12-31'"
    if column.kind is CellKind.COUNT:
        return f"{value}::VARCHAR = {cell} AND strlen({cell}) < 10"
    if column.kind in (CellKind.TEXT, CellKind.CHOICE):
        return "true"
    if column.kind is CellKind.YES_NO:
        return f"{value} IS NOT NULL"
    mark = how.marks.decimal
    decimals = rf"(\{mark}[0-9]{{1,6}})?" if mark else ""
    return f"{value} IS NOT NULL AND regexp_matches({cell}, '^[+-]?[0-9]{{1,8}}{decimals}$')"


def read(column: Column, cell: str, fits: str, words: tuple[str, ...]) -> str:
    """The SQL value of any cell of this column; NULL where the careful reader must look.

    ``fits``: the SQL of whether the cell has the plain form of its kind; its lax value stands under the column's own name.
    """
    value = value_of(column)
    if column.kind is CellKind.TEXT:
        return value
    if column.kind is CellKind.ID:
        return f"CASE WHEN {fits} THEN {value} ELSE nullif(trim({cell}), '') END"
    if column.kind is CellKind.CHOICE:
        return f"nullif({_choice(cell, words)}, '')"
    return f"CASE WHEN {fits} THEN {value} END"


def odd(column: Column, cell: str, fits: str, words: tuple[str, ...]) -> str:
    """A SQL condition, true where a cell or its lax value, under the column's own name, needs a second look."""
    looks = fits if column.required else f"({cell} IS NULL OR {fits})"
    return f"NOT {looks}" if column.kind is CellKind.ID else f"NOT {looks} OR {breaks(column, value_of(column), words)}"


def value_of(column: Column) -> str:
    """The quoted name of a column's value."""
    return f'"{column.field}"'


def _choice(cell: str, words: tuple[str, ...]) -> str:
    """Without regard to case; a word that book.toml writes with capitals keeps them."""
    capitals = "".join(f" WHEN {quoted(w.lower())} THEN {quoted(w)}" for w in words if w != w.lower())
    plain = f"lower(trim({cell}))"
    return f"CASE {plain}{capitals} ELSE {plain} END" if capitals else plain


def _number(column: Column, unit: str | None, cell: str, marks: Marks) -> str:
    if column.kind in KEPT and unit is None:
        return f"NULL::{column.stored}"
    digits = f"replace({cell}, ',', '.')" if marks is Marks.COMMA else cell
    narrow = "DECIMAL(14,6)" if column.kind in EXACT else "DOUBLE"
    return f"({_kept(f'try_cast({digits} AS {narrow})', unit)})::{column.stored}"


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
