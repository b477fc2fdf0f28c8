"""What the journal and the history keep of one entry, and which of that is believed.

A book may come from anywhere, and so may what lies in its folder: names are the log files of this book and nothing else,
and whatever does not fit is left as it is and told.
"""

from __future__ import annotations

import base64
import binascii
import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from pipeline.book.book_settings import ENDINGS, SHEETS, WORKSHOP
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.recording.durable_files import digest, target_of

BESIDE: Final = (f"{WORKSHOP}/taken",)
"""Files of the workshop that change with the logs: which rows of workbooks were taken in."""
LOG_FILES: Final = tuple(f"{log}{ending}" for log in LOGS for ending in ENDINGS if ending not in SHEETS)
"""The files that a recording writes."""
DIGITS: Final = 8
"""Digits of an entry's number, so that names sort as numbers."""
_ENTRY: Final = re.compile(rf"[0-9]{{{DIGITS}}}(-[0-9A-Za-z]{{1,64}})?")
_HASH: Final = re.compile(r"[0-9a-f]{64}")
_MOST_BYTES: Final = 400_000_000  # what stood between: no more than the largest log and its base64


class ForeignEntry(Exception):  # noqa: N818 - a state of the folder, told to the person
    """What lies there is no entry of this book; the text says why."""


@dataclass(frozen=True, slots=True)
class Write:
    """One log's step: its file's name, its bytes before (None: there was no file) and after (None: none shall be)."""

    name: str
    before: bytes | None
    after: bytes | None


@dataclass(frozen=True, slots=True)
class JournalStep:
    """A Write as the journal keeps it: hashes, and what stood between the bytes that stay."""

    name: str
    before: str | None
    after: str | None
    head: int
    tail: int
    old: str

    @classmethod
    def of(cls, write: Write) -> JournalStep:
        """The step that a write is."""
        before, after = write.before or b"", write.after or b""
        head = _common(before, after)
        tail = _common(before[head:][::-1], after[head:][::-1])
        old = before[head : len(before) - tail]
        return cls(write.name, digest(write.before), digest(write.after), head, tail, base64.b64encode(old).decode())

    def undone(self, after: bytes | None) -> bytes | None:
        """The bytes of before, made from those of after."""
        if self.before is None:
            return None
        now = after or b""
        return now[: self.head] + base64.b64decode(self.old) + now[len(now) - self.tail :]


@dataclass(frozen=True, slots=True)
class Entry:
    """What was decided: the steps, in a person's words and when, the entry that it takes back or does again, its mark.

    ``takes_back`` names an entry of the history, ``again`` one that was taken back; ``token`` is the mark of its sender.
    """

    what: str
    steps: tuple[JournalStep, ...]
    takes_back: str = ""
    again: str = ""
    token: str = ""
    when: str = ""

    def as_json(self) -> bytes:
        """As it is kept."""
        return json.dumps(asdict(self), ensure_ascii=False).encode()


def is_entry_name(name: str) -> bool:
    """Whether a file of the history goes by such a name."""
    return _ENTRY.fullmatch(name) is not None


def checked_target(book: Path, name: str) -> Path:
    """The file that a step names. Raises ForeignEntry where that is no log file inside the book's folder."""
    if name not in (*LOG_FILES, *BESIDE):
        raise ForeignEntry(f"it names {name[:60]!r}, which is no log of this book")
    target = target_of(book, name)
    if not target.is_relative_to(book.resolve()):
        raise ForeignEntry(f"{name} is a link to a file outside the book; put the file itself there")
    return target


def read_entry(book: Path, path: Path) -> Entry:
    """An entry from its file. Raises ForeignEntry where anything in it does not fit this book."""
    if path.is_symlink() or not path.is_file() or path.stat().st_size > _MOST_BYTES:
        raise ForeignEntry("it is a link, no plain file, or larger than any entry")
    try:
        entry = _entry(json.loads(path.read_bytes()))
    except (ValueError, KeyError, TypeError, AttributeError, binascii.Error, RecursionError) as fault:
        raise ForeignEntry("it is damaged") from fault
    for name in (entry.takes_back, entry.again):
        if name and not is_entry_name(name):
            raise ForeignEntry(f"it takes back {name[:60]!r}, which is no entry")
    for step in entry.steps:
        checked_target(book, step.name)
    return entry


def _entry(told: Mapping[str, Any]) -> Entry:
    steps = tuple(_step(**step) for step in told["steps"])
    words = {name: _text(told.get(name, "")) for name in ("what", "takes_back", "again", "token", "when")}
    if words["token"] and not words["token"].isalnum():
        raise ValueError("a mark is letters and digits")
    return Entry(steps=steps, **words)


def _step(  # noqa: PLR0913, PLR0917 - a step's own parts
    name: str, before: str | None, after: str | None, head: int, tail: int, old: str
) -> JournalStep:
    base64.b64decode(old, validate=True)
    hashes = all(h is None or _HASH.fullmatch(h) for h in (before, after))
    if not hashes or not (type(head) is type(tail) is int and head >= 0 and tail >= 0):
        raise ValueError("no step")
    return JournalStep(_text(name), before, after, head, tail, old)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError("no text")
    return value


def guarded(book: Path, *parts: str) -> Path:
    """A place in the book's workshop. Raises MachineFault where it, or what it lies in, is a link."""
    place = book / WORKSHOP
    for part in ("", *parts):
        place /= part
        if place.is_symlink():
            raise MachineFault(f"{place} is a link, and combtally follows none out of the book; put it away")
    return place


def _common(one: bytes, other: bytes) -> int:
    """How many bytes two texts share at their start; mostly one is the whole start of the other."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if one[low:middle] == other[low:middle] else (low, middle - 1)
    return low
