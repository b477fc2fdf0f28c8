"""What each column of an old sheet is taken for, by its heading and by what stands in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from pipeline.book.book_settings import Book
from pipeline.contract.comb_and_method_synonyms import COMB_WORDS, METHOD_WORDS, canonical
from pipeline.old_records.date_order_and_units import is_year, looks_like_day, looks_like_value
from pipeline.old_records.heading_words import MEANINGS, TOTALS, read_heading
from pipeline.old_records.old_sheet import OldSheet, SheetLine

MASSES: Final = ("in", "out", "residue", "block_mass", "weight")
_MOSTLY: Final = 0.6
"""A column is what most of its cells are; the rest is told row by row."""


Answers = Mapping[str, str]
"""Answers by their question's key."""


@dataclass(frozen=True, slots=True)
class ColumnMeaning:
    """What one column is taken for: a meaning's name (None: left out), its unit, its pass, and why it is left out.

    ``as_others``: the heading has no unit, and all other weights of the sheet have this one.
    """

    heading: str
    place: int
    meaning: str | None
    unit: str | None = None
    number: int | None = None
    why: str = ""
    as_others: bool = False

    @property
    def log(self) -> str | None:
        """The log that it fills."""
        if self.field == "mass_in":
            return "passes"
        return (MEANINGS[self.meaning].log or None) if self.meaning else None

    @property
    def field(self) -> str | None:
        """The column of that log."""
        if self.meaning == "in" and (self.number or 1) > 1:
            return "mass_in"
        return (MEANINGS[self.meaning].field or None) if self.meaning else None


def data_lines(sheet: OldSheet) -> list[SheetLine]:
    """The lines that are neither a total, nor a year standing alone, nor the headings once more."""
    return [
        line
        for line in sheet.lines
        if not any(TOTALS.match(c) for c in line.cells) and not stands_alone(line) and line.cells != sheet.headings
    ]


def stands_alone(line: SheetLine) -> bool:
    """Whether a line holds one cell and that is a year or a title: it heads the lines under it."""
    said = [c for c in line.cells if c]
    return len(said) == 1 and (is_year(said[0]) or not looks_like_value(said[0]))


def column_cells(sheet: OldSheet, place: int) -> list[str]:
    """What stands in a column, empty cells left out."""
    return [c for line in data_lines(sheet) if (c := line.cell(place))]


def column_meanings(sheet: OldSheet, book: Book, answers: Answers) -> list[ColumnMeaning]:
    """A meaning for each column, by its heading and by what stands in it; none twice, the surer one wins."""
    found, taken = [], Counter[tuple[str, int | None]]()
    by_values = [_by_values(column_cells(sheet, n), book) for n in range(len(sheet.headings))]
    sure = sorted(
        range(len(sheet.headings)), key=lambda n: (by_values[n] is None, -read_heading(sheet.headings[n]).sureness, n)
    )
    for n in sure:
        column = _one(sheet, n, by_values[n], answers)
        if column.meaning == "session" and taken["session", None] and _counts(column_cells(sheet, n)):
            column = replace(column, meaning="pass")
        if column.meaning:
            name = (column.meaning, column.number)
            taken[name] += 1
            if taken[name] > 1 and column.meaning != "ounces":
                column = replace(
                    column, meaning=None, why=f"another column is taken for the {column.meaning.replace('_', ' ')}"
                )
        found.append(column)
    ordered = sorted(found, key=lambda c: c.place)
    return [c for c in _with_ounces(ordered) if c.heading or column_cells(sheet, c.place)]


def _counts(cells: Sequence[str]) -> bool:
    """Whether a column holds the numbers of passes: 1, 2, 1, 2, 3."""
    return bool(cells) and all(c in "123456789" for c in cells) and len(set(cells)) < len(cells)


def _one(sheet: OldSheet, n: int, by_values: str | None, answers: Answers) -> ColumnMeaning:
    text = sheet.headings[n]
    heading = read_heading(text)
    heading = replace(heading, unit=heading.unit or answers.get(f"units.{text}"))
    if told := answers.get(f"columns.{text}"):
        name, _, said_unit = told.partition(" ")
        if name == "left":  # "left out"
            return ColumnMeaning(text, n, None, why="left out as you said")
        named, _, number = name.partition("/")
        return ColumnMeaning(text, n, named, said_unit or heading.unit, int(number) if number else heading.number)
    meaning = (
        by_values
        or heading.meaning
        or {"g": "weight", "kg": "weight", "lb": "weight", "oz": "ounces"}.get(heading.unit or "")
    )
    if why := _why_left_out(meaning, column_cells(sheet, n)):
        return ColumnMeaning(text, n, None, why=why)
    return ColumnMeaning(text, n, meaning, heading.unit, heading.number if meaning in MASSES else None)


def _why_left_out(meaning: str | None, cells: Sequence[str]) -> str:
    """Why a column is not taken over; empty where it is."""
    if meaning is None:
        return "its heading is not understood"
    if not cells:
        return "it is empty"
    if meaning == "worked_out":
        return "it is worked out of the others"
    if meaning == "honey":
        return "it is honey; the log of harvests has a column for it, honey_mass, to fill in by hand"
    return "its cells are no weights" if meaning in MASSES and _share(cells, looks_like_value) < _MOSTLY else ""


def _by_values(cells: Sequence[str], book: Book) -> str | None:
    """What a column is by its cells alone, whatever its heading says in whatever language."""
    more = book.more_words()
    if _share(cells, lambda c: canonical(c, COMB_WORDS, more.get("comb_kinds", ())) is not None) >= _MOSTLY:
        return "comb"
    if _share(cells, lambda c: canonical(c, METHOD_WORDS, more.get("methods", ())) is not None) >= _MOSTLY:
        return "method"
    return "date" if _share(cells, _a_full_day) >= _MOSTLY else None


def _a_full_day(text: str) -> bool:
    return looks_like_day(text) and not is_year(text) and len(text.strip()) > 5


def _share(cells: Sequence[str], fits: Callable[[str], bool]) -> float:
    return sum(map(fits, cells)) / len(cells) if cells else 0.0


def _with_ounces(columns: list[ColumnMeaning]) -> list[ColumnMeaning]:
    """A column of ounces belongs to the pounds left of it; one that stands alone is not understood."""
    found: list[ColumnMeaning] = []
    for column in columns:
        left = found[-1] if found else None
        if column.meaning == "ounces" and not (left and left.meaning in MASSES and left.unit == "lb"):
            column = replace(column, meaning=None, why="ounces with no pounds left of them")  # noqa: PLW2901
        elif column.unit == "oz" and left and left.meaning == column.meaning and left.unit == "lb":
            column = replace(column, meaning="ounces")  # noqa: PLW2901
        found.append(column)
    return found
