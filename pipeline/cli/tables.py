"""Tables for a terminal: aligned, units in the heads, within 80 columns where words and weights allow it."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rich.cells import cell_len

from pipeline.wording import yield_flags
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import DASH, visible

WIDTH = 80
_GAP = 2  # columns between two columns
_UNBROKEN = "\ue000"  # stands for a space at which no line may end


@dataclass(frozen=True, slots=True)
class Head:
    """One column of a table: the key of its values, its heading, and how a value is shown (a key of ``_CELLS``)."""

    key: str
    words: str
    shown: str = "text"


def drawn(rows: Iterable[Mapping[str, Any]], heads: Sequence[Head], units: Units, title: str = "") -> str:
    """The rows as a table for people, one line each; text from the book is never read as markup."""
    rows = list(rows)
    if not rows:
        return f"{title}: nothing yet" if title else "nothing yet"
    headings = [_heading(head, units) for head in heads]
    cells = [[_text(row.get(head.key), head, units) for head in heads] for row in rows]
    widths = _widths([headings, *cells])
    lines = [line for row in cells for line in _lines(row, widths, heads)]
    table = [title] * bool(title) + _lines(headings, widths, heads, low=True) + lines
    return "\n".join(table).replace(_UNBROKEN, " ")


def _widths(rows: Sequence[Sequence[str]]) -> list[int]:
    """The width of each column: what its cells want; where that is too much the widest give way, never into a word."""
    columns = list(zip(*rows, strict=True))
    wide = [max(map(cell_len, column)) for column in columns]
    least = [max(cell_len(word) for cell in column for word in cell.split(" ")) for column in columns]
    while sum(wide) + _GAP * (len(wide) - 1) > WIDTH:
        yielding = [n for n, width in enumerate(wide) if width > least[n]]
        if not yielding:
            break
        wide[max(yielding, key=lambda n: wide[n])] -= 1
    return wide


def _lines(row: Sequence[str], widths: Sequence[int], heads: Sequence[Head], low: bool = False) -> list[str]:
    """The lines of a row: words to the left, figures to the right, a shorter cell ``low`` or high beside a longer one."""
    cells = [_broken(text, width) for text, width in zip(row, widths, strict=True)]
    deep = max(map(len, cells))
    filled = [[""] * (deep - len(cell)) + cell if low else cell + [""] * (deep - len(cell)) for cell in cells]
    return [
        (" " * _GAP)
        .join(_set(part, width, head) for part, width, head in zip(parts, widths, heads, strict=True))
        .rstrip()
        for parts in zip(*filled, strict=True)
    ]


def _broken(text: str, width: int) -> list[str]:
    """A cell's lines, broken between words."""
    first, *words = text.split(" ")
    lines = [first]
    for word in words:
        longer = f"{lines[-1]} {word}"
        lines[-1:] = [longer] if cell_len(longer) <= width else [lines[-1], word]
    return lines


def _set(text: str, width: int, head: Head) -> str:
    space = " " * (width - cell_len(text))
    return text + space if head.shown in _WORDS else space + text


def _text(value: Any, head: Head, units: Units) -> str:
    """A cell; figures stay on one line, words may break."""
    text = cell(value, head.shown, units)
    return text if head.shown in _WORDS else text.replace(" ", _UNBROKEN)


def _heading(head: Head, units: Units) -> str:
    if head.shown in ("mass", "reading"):
        return units.head(head.words, " ")
    if head.shown == "each":
        return f"{head.words} {units.small_unit}"
    unit = {"share": "%", "spread": "%", "chance": "%", "money": units.currency}.get(head.shown)
    return f"{head.words} {unit}" if unit else head.words


def cell(value: Any, shown: str, units: Units) -> str:
    """One value for people; a dash for what is not known."""
    return DASH if value is None else _CELLS[shown](units, value)


_CELLS: dict[str, Callable[[Units, Any], str]] = {
    "text": lambda _, v: ", ".join(map(visible, v)) if isinstance(v, list | tuple) else visible(v),
    "flags": lambda _, v: yield_flags.words(v),
    "day": Units.day,
    "mass": Units.mass_cell,
    "reading": Units.reading_cell,
    "share": Units.share_cell,
    "each": Units.mass_small_cell,
    "spread": Units.spread_cell,
    "points": lambda units, v: units.points(v, signed=True),
    "chance": Units.chance_cell,
    "money": Units.money,
    "number": lambda units, v: v if isinstance(v, str) else units.number(v),
}
_WORDS = ("text", "flags", "day")


def paragraph(text: str, indent: str = "  ") -> str:
    """A sentence broken between words, its later lines moved in; a number keeps its unit."""
    kept = _MEASURE.sub(_UNBROKEN, text)
    wide = textwrap.fill(kept, WIDTH, subsequent_indent=indent, break_on_hyphens=False, break_long_words=False)
    return wide.replace(_UNBROKEN, " ")


_MEASURE = re.compile(r"(?<=\d) (?=(?:%|(?:kg|g|lb|oz|mm|in|°C|°F|min|h)\b))")
