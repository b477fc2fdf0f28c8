"""Formulas that Python and the models both work out: each is written once, and becomes SQL where it is given :class:`Term`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from math import pi
from operator import add
from typing import TypeVar

Number = TypeVar("Number", float, "Term")


@dataclass(frozen=True, slots=True)
class Term:
    """A piece of SQL that is reckoned with like a number."""

    sql: str

    def __add__(self, other: Term | float) -> Term:
        """Both, added."""
        return Term(f"({self.sql} + {_sql(other)})")

    def __mul__(self, other: Term | float) -> Term:
        """Both, multiplied."""
        return Term(f"({self.sql} * {_sql(other)})")

    def __truediv__(self, other: Term | float) -> Term:
        """The first divided by the second."""
        return Term(f"({self.sql} / {_sql(other)})")

    __radd__, __rmul__ = __add__, __mul__


def _sql(value: Term | float) -> str:
    return value.sql if isinstance(value, Term) else f"{value!r}::DOUBLE"


def variance_g2(step_g: float, relative: float, mass_g: Number) -> Number:
    """The variance of one weighing, g²: a rectangular step and a share of the reading (GUM 4.3.7, 5.1.2)."""
    return (mass_g * mass_g) * relative**2 + step_g**2 / 12


def frustum_ml(bottom_mm: Number, top_mm: Number, height_mm: Number) -> Number:
    """The volume of a frustum by its two diameters, ml: pi h (D1^2 + D1 D2 + D2^2) / 12 (a cone cut off; Heron)."""
    return height_mm * (bottom_mm * bottom_mm + bottom_mm * top_mm + top_mm * top_mm) * (pi / 12 / 1000)


def density_g_per_ml(parts: Sequence[tuple[Number, Number]]) -> Number:
    """The density of a mixture from (mass, density) of its parts, volumes taken as additive: 1 / rho = sum of w_i / rho_i."""
    mass = reduce(add, (m for m, _ in parts))
    return mass / reduce(add, (m / density for m, density in parts))
