"""A rule's sentence filled in with values, in the book's own units.

What a value measures is the end of its name, as everywhere: ``_g`` a mass, ``_mm`` a length, ``_c`` a temperature,
``_degrees_c`` a difference of temperatures, ``_share`` and ``_pct`` per cent, ``_days`` days. ``{n:row|rows}`` is a count
with its word.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from string import Formatter
from typing import Any

from pipeline.book.book_folder import Book
from pipeline.wording.amounts import Units, plural, share, visible


class Sentences:
    """Fills sentences in for one book."""

    def __init__(self, book: Book) -> None:
        """Its units and the step of its scale."""
        show = book.show
        self._units = Units(show.mass, book.currency, book.dates, book.scale("").step_g)
        self._length, self._temperature = show.length, show.temperature

    def fill(self, sentence: str, values: Mapping[str, Any]) -> str:
        """The sentence with each name in braces replaced by its value as people read it."""
        parts = []
        for text, name, form, _ in Formatter().parse(sentence):
            parts.append(text)
            if name:
                parts.append(_counted(values[name], form) if form else self.told(name, values[name]))
        return "".join(parts)

    def told(self, name: str, value: Any) -> str:
        """One value as text; nothing for a missing one."""
        if value is None:
            return ""
        for ending, form in self._forms().items():
            if name.endswith(ending):
                return form(float(value))
        if isinstance(value, date):
            return self._units.day(value)
        return f"{value:.4g}" if isinstance(value, float) else visible(value)

    def _forms(self) -> dict[str, Callable[[float], str]]:
        """How a value is told, by the end of its name; the first that fits."""
        return {
            "_g": self._units.weight,
            "_degrees_c": self._degrees,
            "_c": self._heat,
            "_mm": self._long,
            "_share": lambda value: share(value, 0),
            "_pct": lambda value: f"{value:.4g} %",
            "_days": lambda value: plural(round(value), "day"),
        }

    def _heat(self, heat_c: float) -> str:
        return f"{heat_c * 1.8 + 32:.0f} °F" if self._temperature == "F" else f"{heat_c:.0f} °C"

    def _degrees(self, difference_c: float) -> str:
        return f"{difference_c * 1.8:.0f} °F" if self._temperature == "F" else f"{difference_c:.0f} °C"

    def _long(self, length_mm: float) -> str:
        return f"{length_mm / 25.4:.3g} in" if self._length == "in" else f"{length_mm:.4g} mm"


def _counted(value: Any, words: str) -> str:
    one, _, many = words.partition("|")
    return plural(int(value), one, many)
