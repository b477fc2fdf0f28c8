"""Numbers rounded once, half up, from what they exactly are."""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Final, SupportsFloat

Number = SupportsFloat | None
"""A figure of a table: int, float, Decimal, a numpy number; None where it is not known."""

_FINEST: Final = 4  # decimals


def exact(value: Number | Fraction) -> Fraction:
    """A number as it is written: 0.1 is a tenth, though no float is."""
    if isinstance(value, Fraction):
        return value
    return Fraction(value) if isinstance(value, int | Decimal) else Fraction(str(float(value or 0)))


def half_up(value: Fraction, decimals: int) -> Decimal:
    """A number rounded once, halves away from zero; negative decimals round to tens."""
    parts, unit = value.numerator * 10 ** max(decimals, 0), value.denominator * 10 ** max(-decimals, 0)
    whole = (2 * abs(parts) + unit) // (2 * unit)
    with localcontext() as context:
        context.prec = 60
        return Decimal(whole if parts >= 0 else -whole).scaleb(-decimals)


def decimals_for(worth: float) -> int:
    """The fewest decimals whose last digit is worth no more than ``worth``."""
    return next((n for n in range(_FINEST) if 10.0**-n <= worth * (1 + 1e-9)), _FINEST)


def trimmed(value: Fraction, most: int) -> int:
    """The fewest decimals that show what ``most`` decimals show."""
    told = half_up(value, most)
    return next(n for n in range(most + 1) if half_up(value, n) == told)
