"""Where a mass, share, money, date, temperature, length, time or count becomes text: in the book's units, for every output.

Nothing is shown finer than the scale can tell, and each figure is rounded once, half up, from its exact value. A figure
that is not known is a dash, never 0. Terminal, JSON and messages get plain text; a page gets its typeset form
(:meth:`Units.on_page`): true minus, narrow spaces that do not break.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final, SupportsFloat

from pipeline.contract.outcome_range import HELD
from pipeline.contract.quantities import UNITS, in_unit, shown_unit
from pipeline.wording.american_spelling import american
from pipeline.wording.rounding import Number, decimals_for, exact, half_up, trimmed
from pipeline.wording.visible_text import DASH, missing

if TYPE_CHECKING:
    from pipeline.book.book_settings import Book

MINUS: Final = "\N{MINUS SIGN}"
THIN: Final = "\N{NARROW NO-BREAK SPACE}"
MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
POUNDS_AND_OUNCES: Final = "lb oz"

_SMALLER: Final = {"kg": "g", "lb": "oz"}  # what is less than one of it is told in the smaller one
_KEPT: Final = Fraction(1, 100_000)
"""Masses are kept to 0.000001 g, so that 0.125 lb arrives as 56.699046 g: within this of a half counts as the half."""


@dataclass(frozen=True, slots=True)
class Units:
    """How one book's figures are written. ``mass_in``: g, kg, oz, lb or ``lb oz``; ``step_g``: the scale's readability in g.

    ``typeset``: for a page rather than for a terminal or a message.
    """

    mass_in: str = "kg"
    currency: str = ""
    dates: str = "iso"
    step_g: float = 5.0
    length_in: str = "mm"
    temperature_in: str = "C"
    typeset: bool = False

    @classmethod
    def of(cls, book: Book, log: str = "") -> Units:
        """The units of a book, to the step of its own scale, or of the one that ``log`` is weighed on."""
        show, step_g = book.show, book.scale(log).step_g
        return cls(show.mass, book.currency, book.dates, step_g, show.length, show.temperature)

    def on_page(self) -> Units:
        """The same for a page: a true minus, narrow spaces that do not break."""
        return replace(self, typeset=True)

    # masses

    @property
    def mass_unit(self) -> str:
        """The one unit of a chart's axis, and of a cell that must be a plain number: pounds where both are shown."""
        return "lb" if self.mass_in == POUNDS_AND_OUNCES else self.mass_in

    def mass(self, mass_g: Number) -> str:
        """A mass in a sentence: ``63.12 kg``, ``450 g``, ``7 lb 2 oz``."""
        return self._told(mass_g, self._decimals(2), "an unknown mass")

    def reading(self, mass_g: Number) -> str:
        """A mass as the scale showed it, with each step of the scale: ``1.205 kg``. For what is weighed or was typed."""
        return self._told(mass_g, self._decimals(1), "an unknown mass")

    def mass_cell(self, mass_g: Number) -> str:
        """A mass in a column whose head carries the unit (:meth:`head`): ``12.34``, or ``7 lb 2 oz``."""
        if missing(mass_g):
            return DASH
        if self.mass_in == POUNDS_AND_OUNCES:
            return self.mass(mass_g)
        return self.number(self._in(mass_g, self.mass_in), self._decimals(2)[self.mass_in])

    def reading_cell(self, mass_g: Number) -> str:
        """The same with each step of the scale."""
        if missing(mass_g) or self.mass_in == POUNDS_AND_OUNCES:
            return self._told(mass_g, self._decimals(1), DASH)
        return self.number(self._in(mass_g, self.mass_in), self._decimals(1)[self.mass_in])

    @property
    def small_unit(self) -> str:
        """The unit for what one candle takes: g, or oz in a book of pounds."""
        return "oz" if self.mass_in in ("lb", "oz", POUNDS_AND_OUNCES) else "g"

    def mass_small_cell(self, mass_g: Number) -> str:
        """What one candle takes, to a tenth of :attr:`small_unit`: ``108.2``."""
        return DASH if missing(mass_g) else self.number(self._in(mass_g, self.small_unit), 1)

    def mass_small(self, mass_g: float | None) -> float | None:
        """The same as a number, for a range."""
        return None if mass_g is None else in_unit(mass_g, self.small_unit)

    def head(self, words: str, between: str = ", ") -> str:
        """The head of a column of masses: ``wax, kg``; pounds and ounces stand in the cells."""
        return words if self.mass_in == POUNDS_AND_OUNCES else f"{words}{between}{self.mass_in}"

    def about(self, mass_g: SupportsFloat) -> str:
        """A mass that nobody weighed, two figures and its unit: ``2.8 kg``."""
        if self.mass_in == POUNDS_AND_OUNCES:
            return self.mass(mass_g)
        unit = self._unit_for(mass_g)
        value = self._in(mass_g, unit)
        figures = 1 - Decimal(str(float(value))).adjusted() if value else 0
        return self._measure(half_up(value, figures), max(0, figures), unit)

    def axis(self, mass_g: Number) -> float | None:
        """A mass in :attr:`mass_unit`, for the axis of a chart; None stays None."""
        return None if missing(mass_g) else in_unit(float(mass_g or 0), self.mass_unit)

    def _decimals(self, steps: int) -> Mapping[str, int]:
        """Decimals by unit, so that a last digit is worth at most so many steps of the scale, and no less than it must."""
        return {u: decimals_for(steps * self.step_g / float(UNITS[u].factor)) for u in ("g", "kg", "oz", "lb")}

    def _told(self, mass_g: Number, decimals: Mapping[str, int], unknown: str) -> str:
        if mass_g is None or missing(mass_g):
            return unknown
        if self.mass_in == POUNDS_AND_OUNCES:
            return self._pounds_and_ounces(mass_g)
        unit = self._unit_for(mass_g)
        return self._measure(self._in(mass_g, unit), decimals[unit], unit)

    def _unit_for(self, mass_g: SupportsFloat) -> str:
        small = _SMALLER.get(self.mass_in)
        return small if small and 0 < abs(float(mass_g)) < UNITS[self.mass_in].factor else self.mass_in

    def _pounds_and_ounces(self, mass_g: SupportsFloat) -> str:
        """Rounded once to 1 oz, to 0.1 oz where the scale's step is under 1 oz; 16 oz carry; one leading minus."""
        decimals = 1 if self.step_g < UNITS["oz"].factor else 0
        ounces = half_up(self._in(mass_g, "oz"), decimals)
        pounds, rest = divmod(abs(ounces), 16)
        small = self._measure(rest, 0 if rest == int(rest) else decimals, "oz")
        large = self._measure(pounds, 0, "lb")
        text = small if not pounds else f"{large} {small}" if rest else large
        return self._minus + text if ounces < 0 else text

    def _in(self, mass_g: Number, unit: str) -> Fraction:
        """The exact mass in a unit, nudged away from 0 by what keeping it may have taken."""
        value = exact(mass_g)
        return (value + (_KEPT if value > 0 else -_KEPT if value < 0 else 0)) / UNITS[unit].factor

    # other quantities

    def temperature(self, temp_c: Number, decimals: int = 0) -> str:
        """``85 °C``, ``185 °F``; with decimals where tenths are measured, as of a melting point."""
        unit = self.temperature_in.lower()
        value = None if missing(temp_c) else (exact(temp_c) - UNITS[unit].offset) / UNITS[unit].factor
        return DASH if value is None else self._measure(value, decimals, shown_unit(unit))

    def degrees(self, difference_c: Number) -> str:
        """A difference of temperatures: 12 degrees of Celsius are ``12 °C`` or ``22 °F``."""
        unit = self.temperature_in.lower()
        value = None if missing(difference_c) else exact(difference_c) / UNITS[unit].factor
        return DASH if value is None else self._measure(value, 0, shown_unit(unit))

    def length(self, length_mm: Number) -> str:
        """``51 mm``, ``22.5 mm``, ``0.87 in``; no zeros at the end."""
        if missing(length_mm):
            return DASH
        value = exact(length_mm) / UNITS[self.length_in].factor
        return self._measure(value, trimmed(value, 1 if self.length_in == "mm" else 2), self.length_in)

    def volume(self, volume_ml: Number) -> str:
        """``118 ml``; in fluid ounces where lengths are in inches: ``4 fl oz``."""
        if missing(volume_ml):
            return DASH
        unit, most = ("ml", 0) if self.length_in == "mm" else ("floz", 1)
        value = exact(volume_ml) / UNITS[unit].factor
        return self._measure(value, trimmed(value, most), shown_unit(unit))

    def time(self, time_min: Number) -> str:
        """``45 min``, ``2 h 30 min``, ``3 h``."""
        if missing(time_min):
            return DASH
        hours, minutes = divmod(half_up(exact(time_min), 0), 60)
        parts = [self._measure(hours, 0, "h")] if hours else []
        parts += [self._measure(minutes, 0, "min")] if minutes or not hours else []
        return self._space.join(parts)

    def day(self, when: date | None) -> str:
        """A date in the book's order, the month in letters where the order is not ISO's: ``14 Aug 2025``."""
        if when is None or missing(when):
            return DASH
        space, month = self._space, MONTHS[when.month - 1]
        if self.dates == "day-first":
            return f"{when.day}{space}{month}{space}{when.year}"
        if self.dates == "month-first":
            return f"{month}{space}{when.day},{space}{when.year}"
        return f"{when.year:04d}-{when.month:02d}-{when.day:02d}"

    def typed_day(self, when: date) -> str:
        """A date as people of this book type it, in its order: ``8/14/2025``, ``14/8/2025``, ``2025-08-14``."""
        if self.dates == "iso":
            return when.isoformat()
        first = (when.month, when.day) if self.dates == "month-first" else (when.day, when.month)
        return "/".join(map(str, (*first, when.year)))

    def money(self, amount: Number) -> str:
        """Money without its currency (the head or the sentence carries that): ``4.20``."""
        return DASH if missing(amount) else self.number(exact(amount), 2)

    def price(self, amount: Number) -> str:
        """Money in a sentence: ``420.50 EUR``."""
        return f"{self.money(amount)}{self._space}{self.currency}".rstrip()

    # shares and counts

    def share(self, value: Number, decimals: int = 1) -> str:
        """A share as per cent in a sentence: ``39.4 %``."""
        return "an unknown share" if missing(value) else self._measure(100 * exact(value), decimals, "%")

    def share_cell(self, value: Number, decimals: int = 1) -> str:
        """A share in per cent in a column whose head carries the sign: ``39.4``."""
        return DASH if missing(value) else self.number(100 * exact(value), decimals)

    def spread_cell(self, u: Number) -> str:
        """A standard uncertainty in per cent, rounded up to a tenth, so that it never claims too much: ``0.1``."""
        return (
            DASH if missing(u) else self.number(max(half_up(100 * exact(u) + Fraction("0.0499"), 1), Decimal("0.1")), 1)
        )

    def points(self, value: Number, decimals: int = 1, signed: bool = False) -> str:
        """A difference of shares in percentage points: ``2.1``; with its sign for tables: ``+2.1``."""
        text = self.share_cell(value, decimals)
        return f"+{text}" if signed and text.strip("0.") and text[0] not in (DASH, self._minus) else text

    def chance(self, chance: Number) -> str:
        """A chance in a sentence: ``83 %``, ``over 99 %``, ``under 1 %``; nothing is certain."""
        return "an unknown chance" if missing(chance) else f"{self.chance_cell(chance)}{self._space}%"

    def chance_cell(self, chance: Number) -> str:
        """The same in a column whose head carries the sign: ``83``, ``over 99``, ``under 1``."""
        if missing(chance):
            return DASH
        value = 100 * exact(chance)
        return "over 99" if value > 99 else "under 1" if value < 1 else self.number(value)

    def with_chance(self, chance: Number) -> str:
        """How sure something is, in a sentence: ``with a chance of 90 %``."""
        return f"with a chance of {self.chance(chance)}"

    def range_of(self, held: Number) -> str:
        """What a range is called by the share of outcomes that it holds: ``80 % range``."""
        return f"{self.share(held, 0)} range"

    def spelled(self, text: str) -> str:
        """A text of ours, without names and cells, as it is spelled where people weigh in ounces and measure in inches."""
        return american(text) if self.small_unit == "oz" and self.length_in == "in" else text

    def count(self, value: Number) -> str:
        """A whole number, or a dash."""
        return DASH if missing(value) else self.number(exact(value))

    def plural(self, n: int, one: str, many: str = "") -> str:
        """``1 batch``, ``3 batches``."""
        return f"{self.number(n)} {one if n == 1 else many or one + 's'}"

    def number(self, value: Number | Fraction, decimals: int = 0) -> str:
        """A number, rounded once, half up; never ``-0``."""
        told = half_up(exact(value), decimals)
        text = f"{abs(told):,.{max(0, decimals)}f}"
        text = text.replace(",", THIN) if self.typeset else text
        return self._minus + text if told < 0 else text

    @property
    def _space(self) -> str:
        return THIN if self.typeset else " "

    @property
    def _minus(self) -> str:
        return MINUS if self.typeset else "-"

    def _measure(self, value: Number | Fraction, decimals: int, unit: str) -> str:
        return f"{self.number(value, decimals)}{self._space}{unit}"


PLAIN: Final = Units()
PAGE: Final = PLAIN.on_page()
"""For shares and counts, which need no unit of a book's own: in plain text, and on a page."""
RANGE: Final = PLAIN.range_of(HELD)
"""What every range from low to high is called."""


number, share, share_cell, points, count, plural = (
    PAGE.number, PAGE.share, PAGE.share_cell, PAGE.points, PAGE.count, PAGE.plural
)  # fmt: skip
