"""What figures are made from: the files of a book, the program as it is installed, and the day they are for."""

from __future__ import annotations

import hashlib
import os
import sys
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

import duckdb

from pipeline.book.book_settings import ENDINGS, TOML
from pipeline.contract import shipped_files

_PACKAGE = Path(__file__).parent.parent
_SHIPPED = (".py", ".sql", ".html", ".css", ".csv", ".toml")
"""The kinds of shipped file that a figure may depend on."""
_CHUNK = 1 << 20

Origin = tuple[tuple[str, str], ...]
"""What figures are made from, in words and their values, in one order: a file and its SHA-256, the program, today."""


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """An origin, and how the files looked to the system when they were hashed."""

    folder: Path
    origin: Origin
    looks: Origin

    @property
    def key(self) -> str:
        """One digest of it all."""
        return hashlib.sha256(repr(self.origin).encode()).hexdigest()

    def holds(self) -> bool:
        """Whether nobody has changed, added or taken away a file of the book since."""
        return _looks(self.folder) == self.looks


def made_from(folder: Path, today: date) -> MadeFrom | None:
    """What a book's figures of a day would be made from now; None where a file cannot be read.

    Every file that could be a log counts, also one that no log is read from: too much is hashed rather than too little.
    """
    try:
        looks = _looks(folder)
        files = tuple((_plain(name), sha256(folder / name) if look else "no file") for name, look in looks)
    except OSError:
        return None
    # a folder's name stands in sentences and on the page where the book has no name
    rest = (("folder", _plain(folder.resolve().name)), ("program", program()), ("today", today.isoformat()))
    return MadeFrom(folder, (*files, *rest), looks)


def sha256(file: Path) -> str:
    """The SHA-256 of a file's bytes, in hexadecimal digits. Raises OSError."""
    digest = hashlib.sha256()
    with file.open("rb", buffering=0) as stream:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _plain(name: str) -> str:
    """A name as text that any file can hold, also where it is not UTF-8."""
    return name.encode("utf-8", "backslashreplace").decode()


def _looks(folder: Path) -> Origin:
    """Each file of the book by name: its size, times and number; empty where it is no file. Raises OSError."""
    with os.scandir(folder) as entries:
        named = sorted((e for e in entries if _may_count(e.name)), key=lambda e: e.name)
        return tuple((e.name, _look(Path(e.path))) for e in named)


def _may_count(name: str) -> bool:
    return name == TOML or name.lower().endswith(ENDINGS)


def _look(file: Path) -> str:
    if not file.is_file():
        return ""
    s = file.stat()
    return f"{s.st_size} {s.st_mtime_ns} {s.st_ctime_ns} {s.st_ino}"


@cache
def program() -> str:
    """A digest of the program as it is installed: an edit of it, another version, other libraries give another.

    Looked at once in a process, before it works anything out: what is edited meanwhile is another program to the next one.
    It is made of sizes and times to the nanosecond, not of what the files hold, so that it takes a few milliseconds; and
    so that nobody who has not this very installation can make a file that passes for one of it.
    """
    digest = hashlib.sha256(f"{sys.version} {duckdb.__version__}".encode())
    for root in (_PACKAGE, shipped_files.path("reference")):
        for look in _shipped(root):
            digest.update(look.encode())
    for folder in sys.path:  # installing or removing a library touches the folder that it is in
        if Path(folder).name in ("site-packages", "dist-packages") and Path(folder).is_dir():
            digest.update(f"{folder} {Path(folder).stat().st_mtime_ns}".encode())
    return digest.hexdigest()


def _shipped(root: Path) -> list[str]:
    """How each shipped file under a folder looks to the system."""
    found: list[str] = []
    for folder, inner, names in os.walk(root):
        inner[:] = sorted(name for name in inner if name != "__pycache__" and not name.startswith("."))
        for name in sorted(names):
            if name.endswith(_SHIPPED):
                s = os.stat(f"{folder}/{name}")  # noqa: PTH116 - a Path of each takes longer than the looking
                found.append(f"{folder}/{name} {s.st_size} {s.st_mtime_ns} {s.st_ctime_ns} {s.st_ino}\n")
    return found
