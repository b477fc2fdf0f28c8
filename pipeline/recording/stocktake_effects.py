"""What a count does: counted, what the book had, the difference, and what becomes of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from pipeline.book.book_settings import Book
from pipeline.database.connection import Row, query
from pipeline.recording.new_findings import Edit, asked_book, written_aside
from pipeline.wording.amounts import Units


def stocktake_effects(book: Book, today: date, edits: Sequence[Edit]) -> list[str]:
    """A sentence for each count of wax that an entry adds; none where it counts nothing. Raises MachineFault."""
    known = [len(edit.shape.file.records) - 1 for edit in edits if edit.log == "stocktakes"]
    if not known:
        return []
    asked = query("recording/effects", "stocktakes")
    with written_aside(edits) as instead, asked_book(book, today, instead, (), (asked,)) as (_, warehouse):
        return [_told(row, Units.of(book)) for row in warehouse.rows(asked.sql) if row["row"] > known[0]]


def _told(row: Row, units: Units) -> str:
    counted_g, change_g = row["counted_g"], row["change_g"]
    what = f"block {row['block']}" if row["block"] else "the shelf"
    if not change_g:
        return f"{what}: counted {units.reading(counted_g)}, as the book has it"
    more = "more" if change_g > 0 else "less"
    then = (
        "from now on the block weighs what was counted" if row["block"] else "the difference is not placed in any block"
    )
    had, off = units.reading(counted_g - change_g), units.reading(abs(change_g))
    return f"{what}: counted {units.reading(counted_g)}, the book has {had}: {off} {more}; {then}"
