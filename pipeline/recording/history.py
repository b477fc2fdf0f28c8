"""The entries that can be taken back, and those that were and can be done again: one small file each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pipeline.book.book_settings import WORKSHOP
from pipeline.contract.findings import Finding, MachineFault, Severity
from pipeline.recording.durable_files import digest, put_in_place
from pipeline.recording.journal_record import DIGITS, Entry, ForeignEntry, guarded, is_entry_name, read_entry

REACH: Final = 100
"""So many entries can be taken back; older ones stay."""
_HISTORY, _AGAIN = "history", "again"


@dataclass(frozen=True, slots=True)
class Undoable:
    """An entry that can be taken back, or done again: when it was made (empty: not kept), and what it was."""

    when: str
    what: str


@dataclass(frozen=True, slots=True)
class Last:
    """The entry that would be taken back next, and the mark that it is known again by.

    ``by_form``: it was answered question by question, on a page or at the keyboard, and not given as one command.
    """

    mark: str
    when: str
    what: str
    by_form: bool


def entries(book: Path) -> list[Path]:
    """The files of the entries that can be taken back, the latest last."""
    return _files(guarded(book, _HISTORY))


def taken_back(book: Path) -> list[Path]:
    """The files of the entries that were taken back and can be done again, the one taken back last at the end."""
    return _files(guarded(book, _AGAIN))[::-1]


def listed(book: Path) -> tuple[list[Undoable], list[Undoable]]:
    """What can be taken back and what can be done again, the next to come first. Raises MachineFault."""
    told = ([trusted(book, path) for path in found[::-1]] for found in (entries(book), taken_back(book)))
    undoable, again = ([Undoable(entry.when, entry.what) for entry in found] for found in told)
    return undoable, again


def last(book: Path) -> Last | None:
    """The entry that would be taken back next; None where there is none. Raises MachineFault."""
    found = entries(book)
    if not found:
        return None
    entry = trusted(book, found[-1])
    return Last(mark(found[-1]), entry.when, entry.what, bool(entry.token))


def stamp(book: Path) -> int | None:
    """What changes with every entry that is made or taken back; None before the first."""
    try:
        return guarded(book, _HISTORY).stat().st_mtime_ns
    except FileNotFoundError:
        return None


def mark(path: Path) -> str:
    """What an entry of the history is known again by, as a number is given anew once its entry was taken back."""
    return digest(path.read_bytes()) or ""


def trusted(book: Path, path: Path) -> Entry:
    """An entry of the history. Raises MachineFault, with nothing touched, where it is none of this book."""
    try:
        return read_entry(book, path)
    except ForeignEntry as foreign:
        raise MachineFault(f"{path}: {foreign}; nothing was taken back") from foreign


def archive(book: Path, entry: Entry) -> None:
    """A finished journal moves into the history, one that takes an entry back to those that can be done again.

    A new entry ends what could be done again: it would be done to other logs.
    """
    done = book / WORKSHOP / "journal"
    if entry.takes_back:
        _moved(done, guarded(book, _AGAIN), entry.takes_back)
        (guarded(book, _HISTORY) / entry.takes_back).unlink(missing_ok=True)
        return
    old = entries(book)
    if entry.again:
        _moved(done, guarded(book, _HISTORY), entry.again)
        (guarded(book, _AGAIN) / entry.again).unlink(missing_ok=True)
    else:
        number = int(old[-1].name[:DIGITS]) + 1 if old else 1
        _moved(done, guarded(book, _HISTORY), f"{number:0{DIGITS}d}{f'-{entry.token}' if entry.token else ''}")
        for path in taken_back(book):
            path.unlink(missing_ok=True)
    for path in old[: max(0, len(old) + 1 - REACH)]:
        path.unlink(missing_ok=True)


def foreign(book: Path) -> list[Finding]:
    """What lies in the workshop and is no entry of this book: told, and left as it is."""
    return [
        Finding(f"{WORKSHOP}/{path.parent.name}" if path.parent.name != WORKSHOP else f"{WORKSHOP}/{path.name}", None, None,
                path.name, "journal-foreign", Severity.WARNING, f"{path.name} is no entry of this book: {why}; it is not touched",
                "if you do not know it, move it away")
        for path, why in _foreign(book)
    ]  # fmt: skip


def _foreign(book: Path) -> Iterator[tuple[Path, str]]:
    workshop = book / WORKSHOP
    for place in (workshop, workshop / "lock", workshop / _HISTORY, workshop / _AGAIN, workshop / "journal"):
        if place.is_symlink():
            yield place, "it is a link"
            return
    journal = workshop / "journal"
    for path in [*_files(workshop / _HISTORY), *_files(workshop / _AGAIN), *([journal] if journal.exists() else [])]:
        try:
            read_entry(book, path)
        except ForeignEntry as why:
            yield path, str(why)


def _moved(done: Path, folder: Path, name: str) -> None:
    folder.mkdir(exist_ok=True)
    put_in_place(done, folder / name)


def _files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.iterdir() if is_entry_name(p.name)) if folder.is_dir() else []
