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

from pipeline.book.book_settings import Book
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import visible


class Sentences:
    """Fills sentences in for one book."""

    def __init__(self, book: Book) -> None:
        """In its units, to the step of its scale."""
        self._units = Units.of(book)

    def fill(self, sentence: str, values: Mapping[str, Any]) -> str:
        """The sentence with each name in braces replaced by its value as people read it."""
        parts = []
        for text, name, form, _ in Formatter().parse(sentence):
            parts.append(text)
            if name:
                parts.append(self._counted(values[name], form) if form else self.told(name, values[name]))
        return "".join(parts)

    def told(self, name: str, value: Any) -> str:
        """One value as text; nothing for a missing one."""
        if value is None:
            return ""
        for ending, form in self._forms().items():
            if name.endswith(ending):
                return form(value)
        if isinstance(value, date):
            return self._units.day(value)
        return f"{value:.4g}" if isinstance(value, float) else visible(value)

    def _forms(self) -> dict[str, Callable[[Any], str]]:
        """How a value is told, by the end of its name; the first that fits."""
        return {
            "_g": self._units.reading,
            "_degrees_c": self._units.degrees,
            "_c": self._units.temperature,
            "_mm": self._units.length,
            "_share": lambda value: self._units.share(value, 0),
            "_pct": lambda value: f"{value:.4g} %",
            "_days": lambda value: self._units.plural(round(value), "day"),
        }

    def _counted(self, value: Any, words: str) -> str:
        one, _, many = words.partition("|")
        return self._units.plural(int(value), one, many)
