"""What an entry does: a count beside what the book had, and what a session gave, by the logs as they would be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from pipeline.book.book_settings import Book
from pipeline.database.connection import Row
from pipeline.database.shipped_queries import Query, query
from pipeline.recording.new_findings import Edit, asked_book, written_aside
from pipeline.wording.amounts import PLAIN, Units

_OF_SESSIONS = ("loads", "passes", "blocks")


def entry_effects(book: Book, today: date, edits: Sequence[Edit], with_yields: bool = False) -> list[str]:
    """A sentence for each count that an entry adds; ``with_yields``: for each session of it too. Raises MachineFault."""
    counts = [edit for edit in edits if edit.log == "stocktakes"]
    sessions = _sessions(edits) if with_yields else set()
    asked: list[Query] = [query("recording/effects", "stocktakes")] if counts else []
    asked += [query("recording/effects", "sessions")] if sessions else []
    if not asked:
        return []
    with written_aside(edits) as instead, asked_book(book, today, instead, (), asked) as (_, warehouse):
        found = {each.name: warehouse.rows(each.sql) for each in asked}
    known = len(counts[0].shape.file.records) - 1 if counts else 0
    told = [_counted(row, Units.of(book)) for row in found.get("stocktakes", ()) if row["row"] > known]
    return told + [_gave(row, Units.of(book)) for row in found.get("sessions", ()) if row["session"] in sessions]


def _sessions(edits: Sequence[Edit]) -> set[str]:
    """The sessions that an entry's new rows name, where it brings a pass or a block."""
    if not any(edit.log in ("passes", "blocks") for edit in edits):
        return set()
    return {name for edit in edits if edit.log in _OF_SESSIONS for name in _named(edit)}


def _named(edit: Edit) -> Iterator[str]:
    place = edit.shape.where.get("session", (-1, ""))[0]
    for record in edit.file.records[max(1, len(edit.shape.file.records)) :]:
        if 0 <= place < len(record.cells):
            yield record.cells[place].strip()


def _gave(row: Row, units: Units) -> str:
    """What a session gave of what was loaded."""
    of = f"{units.mass(row['wax_g'])} of wax from {units.mass(row['loaded_g'])} of {row['loaded']}"
    return f"session {row['session']}: {of}, a yield of {units.share(row['yield'])}"


def _counted(row: Row, units: Units) -> str:
    """Counted, what the book had, the difference, and what becomes of it."""
    what = "the shelf" if row["kind"] == "shelf" else f"{row['kind']} {row['item']}"
    counted, change = row["counted"], row["change"]
    if change is None:
        return f"{what}: counted {_amount(row, counted, units)}; the book did not know how much there is"
    if not change:
        return f"{what}: counted {_amount(row, counted, units)}, as the book has it"
    had, off = (_amount(row, amount, units) for amount in (counted - change, abs(change)))
    more = "more" if change > 0 else "less"
    return f"{what}: counted {_amount(row, counted, units)}, the book has {had}: {off} {more}; {_then(row)}"


def _amount(row: Row, amount: float, units: Units) -> str:
    return PLAIN.number(amount) if row["kind"] == "candle" else units.reading(amount)


def _then(row: Row) -> str:
    """What becomes of the difference."""
    if row["kind"] == "harvest" and not row["counted"]:
        return "the harvest is closed: nothing of it waits, and what is missing counts as lost in store"
    return {
        "shelf": "the difference is not placed in any block",
        "block": "from now on the block weighs what was counted",
        "harvest": "from now on so much of it waits to be rendered",
        "candle": "from now on so many are on the shelf",
    }[row["kind"]]
