"""What each column of an old sheet is taken for, and what only its keeper can say."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from pipeline.book.book_settings import Book
from pipeline.contract.comb_and_method_synonyms import COMB_WORDS, METHOD_WORDS, canonical
from pipeline.contract.quantities import Marks
from pipeline.old_records.column_matching import (
    MASSES,
    Answers,
    ColumnMeaning,
    column_cells,
    column_meanings,
    data_lines,
    stands_alone,
)
from pipeline.old_records.date_order_and_units import lacks_year, marks, orders
from pipeline.old_records.old_sheet import OldSheet


class LineIs(StrEnum):
    """What one line of the sheet is."""

    SESSIONS = "sessions"
    PASSES = "passes"
    BLOCKS = "blocks"
    HARVESTS = "harvests"


_OF_BLOCKS = {"block", "block_mass", "colour", "supplier"}
"""A sheet without wax that came out, but with one of these, is a list of blocks."""


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """What only the keeper knows: a key for the saved answer, what it is about, and the answers there are (none: free)."""

    key: str
    about: tuple[str, ...]
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the sheet is taken for, how its cells are read, and what is still open."""

    layout: LineIs
    columns: tuple[ColumnMeaning, ...]
    marks: Marks
    questions: tuple[OpenQuestion, ...]

    def of(self, meaning: str, number: int | None = None) -> ColumnMeaning | None:
        """The column with that meaning (of that pass)."""
        return next(
            (c for c in self.columns if c.meaning == meaning and (number is None or (c.number or 1) == number)), None
        )

    def place(self, column: ColumnMeaning) -> tuple[str | None, str | None]:
        """The log and the column that a column of the sheet fills, by what its lines are."""
        own = {LineIs.BLOCKS: "blocks", LineIs.HARVESTS: "harvests"}.get(self.layout)
        if own is None or column.meaning not in ("date", "session", "notes"):
            return column.log, column.field
        name = "harvest" if own == "harvests" else "session"
        return own, name if column.meaning == "session" else column.field


def propose(sheet: OldSheet, book: Book, answers: Answers) -> Proposal:
    """What the sheet's columns and lines are; ``answers`` settle what they are about, the rest is asked."""
    columns = _numbered(column_meanings(sheet, book, answers))
    layout = _layout(sheet, columns, answers)
    columns = _fitted(columns, layout)
    mark = _marks(sheet, columns, book, answers)
    proposal = Proposal(layout, tuple(columns), mark or Marks.UNSURE, ())
    return replace(proposal, questions=tuple(_questions(sheet, proposal, book, answers, mark)))


# What a line is ------------------------------------------------------------------------------------------------------


def _numbered(columns: Sequence[ColumnMeaning]) -> list[ColumnMeaning]:
    """A running number is the name of what each line is: a block in a list of blocks, else the session."""
    there = {c.meaning for c in columns}
    blocks = bool(there & _OF_BLOCKS) and "out" not in there
    name = "block" if blocks else "session"
    why = f"another column is taken for the {name}"
    return [
        c if c.meaning != "number" else replace(c, meaning=None, why=why) if name in there else replace(c, meaning=name)
        for c in columns
    ]


def _layout(sheet: OldSheet, columns: Sequence[ColumnMeaning], answers: Answers) -> LineIs:
    if told := answers.get("layout"):
        return LineIs(told)
    has = {c.meaning for c in columns}
    if "out" in has:
        session = next((c for c in columns if c.meaning == "session"), None)
        names = Counter(column_cells(sheet, session.place)) if session else Counter[str]()
        return LineIs.PASSES if "pass" in has or any(n > 1 for n in names.values()) else LineIs.SESSIONS
    return LineIs.BLOCKS if has & _OF_BLOCKS else LineIs.HARVESTS


def _fitted(columns: list[ColumnMeaning], layout: LineIs) -> list[ColumnMeaning]:
    """A weight with no name of its own is that of what the line is."""
    meant = {
        LineIs.BLOCKS: "block_mass",
        LineIs.HARVESTS: "in",
        LineIs.SESSIONS: "in",
        LineIs.PASSES: "in",
    }[layout]
    there = {c.meaning for c in columns}
    fitted = []
    for column in columns:
        if column.meaning == "weight":
            column = (  # noqa: PLW2901
                replace(column, meaning=None, why="it does not say what was weighed")
                if meant in there
                else replace(column, meaning=meant)
            )
        elif layout is LineIs.BLOCKS and column.meaning in ("in", "out") and "block_mass" not in there:
            column = replace(column, meaning="block_mass")  # noqa: PLW2901
        fitted.append(column)
    return _with_units(fitted)


def _with_units(columns: list[ColumnMeaning]) -> list[ColumnMeaning]:
    """A weight without a unit is taken in that of all the others, where they have one and the same."""
    units = {c.unit for c in columns if c.meaning in MASSES and c.unit}
    if len(units) != 1:
        return columns
    (unit,) = units
    return [replace(c, unit=unit, as_others=True) if c.meaning in MASSES and not c.unit else c for c in columns]


# What is asked -------------------------------------------------------------------------------------------------------


def _marks(sheet: OldSheet, columns: Sequence[ColumnMeaning], book: Book, answers: Answers) -> Marks | None:
    """What comma and dot mean in the sheet: by its cells, by book.toml, or by the answer; None: to be asked."""
    said = answers.get("decimal") or {"dot": "dot", "comma": "comma"}.get(book.decimal, "")
    if said:
        return Marks.COMMA if said == "comma" else Marks.DOT
    return marks(c for column in columns if column.meaning in MASSES for c in column_cells(sheet, column.place))


def _questions(
    sheet: OldSheet, proposal: Proposal, book: Book, answers: Answers, mark: Marks | None
) -> Iterator[OpenQuestion]:
    def open_(key: str) -> bool:
        return not answers.get(key)

    if mark is None or mark is Marks.UNSURE:
        yield OpenQuestion("decimal", (), ("dot", "comma"))
    yield from (q for q in _day_questions(sheet, proposal, book) if open_(q.key))
    for column in proposal.columns:
        if column.meaning in MASSES and not column.unit and _bare(column_cells(sheet, column.place)):
            yield OpenQuestion(f"units.{column.heading}", (column.heading,), ("g", "kg", "oz", "lb"))
    yield from (q for q in _word_questions(sheet, proposal, book) if open_(q.key))
    if (
        proposal.layout is LineIs.BLOCKS
        and not proposal.of("supplier")
        and not proposal.of("session")
        and open_("supplier")
    ):
        yield OpenQuestion("supplier", (), ("before this book",))
    if _blank_days(sheet, proposal) and open_("blank_dates"):
        yield OpenQuestion(
            "blank_dates", tuple(str(n) for n in _blank_days(sheet, proposal)), ("as above", "leave out")
        )


def _day_questions(sheet: OldSheet, proposal: Proposal, book: Book) -> Iterator[OpenQuestion]:
    column = proposal.of("date")
    if column is None:
        yield OpenQuestion("date", ())
        return
    cells = column_cells(sheet, column.place)
    if len(orders(cells)) > 1 and book.dates == "iso":
        yield OpenQuestion(
            "dates", (column.heading, next(c for c in cells if len(orders([c])) > 1)), ("day-first", "month-first")
        )
    if lacks_year(cells) and not any(stands_alone(line) for line in sheet.lines):
        yield OpenQuestion("year", (column.heading,))


def _bare(cells: Sequence[str]) -> bool:
    """Whether some weight of a column carries no unit of its own."""
    return any(c.strip().replace(".", "").replace(",", "").isdecimal() for c in cells)


def _word_questions(sheet: OldSheet, proposal: Proposal, book: Book) -> Iterator[OpenQuestion]:
    """Which comb, which method: of the whole sheet where no column says, of each word that is not known."""
    more = book.more_words()
    kinds, ways = (*COMB_WORDS, *more.get("comb_kinds", ())), (*METHOD_WORDS, *more.get("methods", ()))
    asked = {
        LineIs.SESSIONS: ("comb", "method"), LineIs.PASSES: ("comb", "method"), LineIs.HARVESTS: ("comb",), LineIs.BLOCKS: (),
    }[proposal.layout]  # fmt: skip
    for name, words, own in (("comb", COMB_WORDS, kinds), ("method", METHOD_WORDS, ways)):
        column = proposal.of(name)
        if name in asked and column is None:
            if name != "comb" or proposal.of("in") or proposal.of("frames"):
                yield OpenQuestion(name, (), own)
        elif name in asked and column is not None:
            cells = column_cells(sheet, column.place)
            unknown = dict.fromkeys(c for c in cells if canonical(c, words, own) is None)
            yield from (OpenQuestion(f"{name}.{word}", (word,), own) for word in unknown)
            if len(cells) < len(data_lines(sheet)):
                yield OpenQuestion(name, (column.heading,), own)


def _blank_days(sheet: OldSheet, proposal: Proposal) -> list[int]:
    """Lines with weights and no day, among lines that have one: a merged cell, or something that is no session."""
    column = proposal.of("date")
    weights = [c.place for c in proposal.columns if c.meaning in MASSES]
    if column is None or proposal.layout is LineIs.PASSES:
        return []
    return [
        line.number for line in data_lines(sheet) if not line.cell(column.place) and any(line.cell(p) for p in weights)
    ]
