"""Tables for a terminal: aligned, units in the heads, within 80 columns where the words allow it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pipeline.book.book_folder import Show
from pipeline.contract.quantities import DECIMALS, in_unit

NOT_KNOWN = "–"


@dataclass(frozen=True, slots=True)
class Head:
    """One column of a table: the key of its values, its heading, and how a value is shown."""

    key: str
    words: str
    shown: str = "text"
    """``text``, ``mass`` (in the book's unit), ``share`` (per cent), ``spread`` (per cent, two digits) or ``number``.

    A number that is already text stands as it is.
    """


def drawn(rows: Iterable[Mapping[str, Any]], heads: Sequence[Head], show: Show, title: str = "") -> str:
    """The rows as a table for people, one line each; the text from the book is never read as markup."""
    rows = list(rows)
    if not rows:
        return f"{title}: nothing yet" if title else "nothing yet"
    table = Table(title=title or None, box=None, title_justify="left", pad_edge=False, padding=(0, 2, 0, 0))
    for head in heads:
        table.add_column(_heading(head, show), justify="left" if head.shown == "text" else "right")
    for row in rows:
        table.add_row(*[Text(cell(row.get(head.key), head.shown, show)) for head in heads])
    console = Console(width=80, color_system=None, force_terminal=False, highlight=False, emoji=False)
    with console.capture() as printed:
        console.print(table)
    return "\n".join(line.rstrip() for line in printed.get().splitlines())


def _heading(head: Head, show: Show) -> Text:
    unit = {"mass": show.mass, "share": "%", "spread": "%"}.get(head.shown)
    return Text(f"{head.words} {unit}" if unit else head.words)


def cell(value: Any, shown: str, show: Show) -> str:
    """One value for people; a dash for what is not known."""
    if value is None:
        return NOT_KNOWN
    if shown == "mass":
        return mass(float(value), show)
    if shown == "share":
        return f"{round(100 * value, 1) + 0.0:.1f}"  # never -0.0
    if shown == "spread":
        return f"{100 * value:.0f}" if value >= 0.0995 else f"{100 * value:#.2g}"
    if shown == "number":
        return value if isinstance(value, str) else f"{value:,}"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def mass(grams: float, show: Show) -> str:
    """A mass in the book's unit, without the unit: for a column whose heading has it."""
    text = f"{in_unit(grams, show.mass):,.{DECIMALS[show.mass]}f}"
    return text if text.strip("-0.,") else text.removeprefix("-")


def weight(grams: float, show: Show) -> str:
    """A mass in the book's unit, with it."""
    return f"{mass(grams, show)} {show.mass}"
