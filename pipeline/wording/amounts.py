"""Numbers as people read them: masses in the book's unit, shares, counts, money, dates.

Nothing is shown finer than the scale can tell: the book's ``step_g`` sets the decimals of a mass. A figure that is
not known is a dash, never 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from pipeline.contract.quantities import GRAMS, in_unit

DASH = "–"
MINUS = "\N{MINUS SIGN}"
THIN = "\N{NARROW NO-BREAK SPACE}"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
Number = float | int | None


@dataclass(frozen=True, slots=True)
class Units:
    """How the book shows its figures in the report; ``step_g`` is the scale's readability in grams."""

    mass: str = "kg"
    currency: str = ""
    dates: str = "iso"
    step_g: float = 5.0

    @property
    def mass_decimals(self) -> int:
        """Decimals of a mass (0-3), so that its last digit is worth about one step of the scale, never far less."""
        return max(0, min(3, math.ceil(-math.log10(2 * self.step_g / GRAMS[self.mass]) - 0.35)))

    def of(self, mass_g: Number) -> float | None:
        """A mass in the book's unit, for the axis of a chart; None stays None."""
        return None if missing(mass_g) else in_unit(float(mass_g or 0), self.mass)

    def mass_cell(self, mass_g: Number) -> str:
        """A mass for a table whose head carries the unit: ``12.34``."""
        value = self.of(mass_g)
        return DASH if value is None else number(value, self.mass_decimals)

    def weight(self, mass_g: Number) -> str:
        """A mass in a sentence, three figures and its unit: ``63.1 kg``; small ones in g or oz."""
        if missing(mass_g):
            return "an unknown mass"
        value, unit = self._shown(float(mass_g or 0))
        most = 0 if unit == "g" else 1 if unit == "oz" else self.mass_decimals
        return f"{number(value, max(0, min(most, figures_decimals(value))))}{THIN}{unit}"

    def about(self, mass_g: float) -> str:
        """A mass that nobody weighed, two figures and its unit: ``2.8 kg``."""
        value, unit = self._shown(mass_g)
        decimals = figures_decimals(value, 2)
        return f"{number(round(value, decimals), max(0, decimals))}{THIN}{unit}"

    def _shown(self, mass_g: float) -> tuple[float, str]:
        """A mass in the book's unit; what is less than one of it in the smaller one."""
        small = {"kg": "g", "lb": "oz"}.get(self.mass)
        unit = small if small and 0 < abs(mass_g) < GRAMS[self.mass] else self.mass
        return in_unit(mass_g, unit), unit

    def money(self, amount: Number) -> str:
        """Money without its currency (the head or the sentence carries that): ``4.20``."""
        return DASH if missing(amount) else number(float(amount or 0), 2)

    def price(self, amount: Number) -> str:
        """Money in a sentence: ``420.50 EUR``."""
        return f"{self.money(amount)}{THIN}{self.currency}".rstrip()

    def day(self, when: date | None) -> str:
        """A date in the book's order, the month in letters where the order is not ISO's: ``14 Aug 2025``."""
        if when is None or when != when:  # noqa: PLR0124 - a missing date arrives as NaT
            return DASH
        month = MONTHS[when.month - 1]
        if self.dates == "day-first":
            return f"{when.day}{THIN}{month}{THIN}{when.year}"
        if self.dates == "month-first":
            return f"{month}{THIN}{when.day},{THIN}{when.year}"
        return f"{when.year:04d}-{when.month:02d}-{when.day:02d}"


def missing(value: object) -> bool:
    """Whether a cell of a frame holds nothing (None, NaN, NaT)."""
    return value is None or value != value  # noqa: PLR0124 - only NaN and NaT differ from themselves


def number(value: float, decimals: int = 0) -> str:
    """A number with a true minus and thin spaces between thousands; never ``-0``."""
    text = f"{abs(value):,.{decimals}f}".replace(",", THIN)
    return MINUS + text if value < 0 and float(f"{value:.{decimals}f}") != 0 else text


def figures_decimals(value: float, figures: int = 3) -> int:
    """Decimals that leave so many significant figures; negative where whole tens are meant."""
    return figures - 1 - math.floor(math.log10(abs(value))) if value else 0


def share(value: Number, decimals: int = 1) -> str:
    """A share as per cent in a sentence: ``39.4 %``."""
    return "an unknown share" if missing(value) else f"{number(100 * float(value or 0), decimals)}{THIN}%"


def share_cell(value: Number, decimals: int = 1) -> str:
    """A share in per cent for a table whose head carries the sign."""
    return DASH if missing(value) else number(100 * float(value or 0), decimals)


def points(value: Number, decimals: int = 1, signed: bool = False) -> str:
    """A difference of shares in percentage points: ``2.1``; with its sign for tables."""
    if missing(value):
        return DASH
    text = number(100 * float(value or 0), decimals)
    return f"+{text}" if signed and float(value or 0) > 0 and float(text.replace(THIN, "")) else text


def count(value: Number) -> str:
    """A whole number, or a dash."""
    return DASH if missing(value) else number(float(value or 0))


def plural(n: int, one: str, many: str = "") -> str:
    """``1 batch``, ``3 batches``."""
    return f"{number(n)} {one if n == 1 else many or one + 's'}"


def name(value: object) -> str:
    """The name of a group; what was not logged is said to be so."""
    return "not logged" if missing(value) else visible(value)


def visible(text: object) -> str:
    """Anybody's text as one line that can be drawn: control characters become their pictures, nothing is dropped."""
    if missing(text):
        return DASH
    return "".join(_shown(ch) for ch in str(text))


def _shown(ch: str) -> str:
    code = ord(ch)
    if code < 0x20:
        return chr(0x2400 + code)
    bidi = code in range(0x202A, 0x202F) or code in range(0x2066, 0x206A)
    return (
        "\N{REPLACEMENT CHARACTER}"
        if 0x7F <= code < 0xA0 or bidi or 0xD800 <= code < 0xE000 or (code >= 0xFFFE and code <= 0xFFFF)
        else ch
    )
