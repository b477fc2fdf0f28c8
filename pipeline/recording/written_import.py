"""Old records written as one entry, their answers kept, and their rows known again."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from pipeline.book.book_settings import WORKSHOP, Book
from pipeline.book.regular_files import bytes_of
from pipeline.contract.findings import MachineFault
from pipeline.contract.quantities import Refusal
from pipeline.old_records import saved_answers
from pipeline.old_records.prepared_import import Prepared
from pipeline.recording import journal, record_and_undo
from pipeline.recording.record_and_undo import Judged

TAKEN = f"{WORKSHOP}/taken"
"""The marks of rows that were taken in before, those of filled workbooks too."""


def saved(book: Book, file: Path) -> dict[str, str] | Refusal:
    """What was answered about a sheet of this name before; nothing where it is new."""
    place = saved_answers.place_of(book.folder, file)
    return saved_answers.load(place) if place.is_file() else {}


def foreseen(book: Book, prepared: Prepared, today: date) -> Judged:
    """What the rows would break, without writing."""
    return record_and_undo.foreseen(book.folder, prepared.rows, today, with_yields=False)


def write(book: Book, prepared: Prepared, judged: Judged, today: date) -> record_and_undo.Outcome:
    """Write all rows, whose warnings were shown, as one entry, keep the answers, and know the rows again.

    ``judged``: what was shown, which holds while the book stays as it was. Raises MachineFault.
    """
    held = book.folder / TAKEN
    before = bytes_of(held) if held.exists() else None
    marks = json.dumps(sorted(marks_known(book.folder) | prepared.marks)).encode()
    what = f"old records of {prepared.file.name}"
    outcome = record_and_undo.record(
        book.folder, prepared.rows, what, today, (journal.Write(TAKEN, before, marks),), yes=True, judged=judged
    )
    if outcome.written:
        place = saved_answers.place_of(book.folder, prepared.file)
        try:
            place.parent.mkdir(exist_ok=True)
            place.write_text(saved_answers.text(prepared.file, prepared.proposal, prepared.answers), "utf-8")
        except OSError as fault:
            raise MachineFault(
                f"the rows are written, but the answers could not be kept in {place}: {fault.strerror}"
            ) from fault
    return outcome


def marks_known(folder: Path) -> set[str]:
    """The marks of all rows taken in before; none where the file is not to be believed."""
    held = folder / TAKEN
    try:
        return {mark for mark in json.loads(bytes_of(held)) if isinstance(mark, str)} if held.exists() else set()
    except (OSError, ValueError, TypeError, RecursionError):
        return set()
