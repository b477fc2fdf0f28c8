"""Files forced to disk: written beside, put in place in one step, links and permissions kept."""

from __future__ import annotations

import hashlib
import os
import stat
import time
from pathlib import Path

from pipeline.book.book_settings import WORKSHOP
from pipeline.book.regular_files import bytes_of

_BUSY_TRIES = 40  # a spreadsheet program on Windows holds a file for a moment while it saves
_ASIDE = ".combtally"


def target_of(book: Path, name: str) -> Path:
    """The file itself where the log is a link to it: a link is never replaced by a file."""
    return Path(os.path.realpath(book / name))  # a link in a circle is itself; Path.resolve raises


def aside_of(target: Path) -> Path:
    """Where a log's new bytes are kept until they take its place."""
    return target.with_name(f".{target.name}{_ASIDE}")


def may_be_unfinished(book: Path) -> bool:
    """Whether a crash may have cut a recording short: its journal or a copy of a log is there, or a log lies elsewhere."""
    if any((book / WORKSHOP / name).exists() for name in ("journal", "journal.new")):
        return True
    try:
        with os.scandir(book) as there:
            return any(file.name != WORKSHOP and (file.name.endswith(_ASIDE) or file.is_symlink()) for file in there)
    except PermissionError:  # a folder that may be entered but not listed: each name is to be tried
        return True


def put_aside(target: Path, data: bytes) -> None:
    """The new bytes beside the log, on disk, with the log's own permissions."""
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    durable(aside_of(target), data, mode)


def durable(path: Path, data: bytes, mode: int | None = None) -> None:
    """Write a new file and force it to disk, with these permissions where given; a link in its place is not followed."""
    path.unlink(missing_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        if mode is not None and hasattr(os, "fchmod"):
            os.fchmod(handle, mode)
        os.fsync(handle)
    finally:
        os.close(handle)


def put_in_place(source: Path, target: Path) -> None:
    """Let one file take another's place, in one step."""
    for left in reversed(range(_BUSY_TRIES)):
        try:
            os.replace(source, target)  # noqa: PTH105 - the call itself, as the fault tests meet it
        except PermissionError:
            if os.name != "nt" or not left:
                raise
            time.sleep(0.05)
        else:
            return


def sync_folder(folder: Path) -> None:
    """Force a folder's entries to disk, where the system can."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def read(path: Path) -> bytes | None:
    """The bytes of a file; None where there is none."""
    return bytes_of(path) if path.exists() else None


def digest(data: bytes | None) -> str | None:
    """SHA-256 of bytes; None of None."""
    return None if data is None else hashlib.sha256(data).hexdigest()
