"""A folder for copies of logs that must be put in order before they are read; what a killed command left is swept away."""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

_PREFIX = "combtally-"


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """A new folder that ends with the block. Raises OSError."""
    _sweep(Path(tempfile.gettempdir()))
    with TemporaryDirectory(prefix=f"{_PREFIX}{os.getpid()}-") as folder:
        yield Path(folder)


def _sweep(room: Path) -> None:
    """Remove the folders of commands of this user that run no more."""
    for left in room.glob(f"{_PREFIX}*-*"):
        owner = left.name.removeprefix(_PREFIX).partition("-")[0]
        if owner.isdecimal() and _is_mine(left) and not _runs(int(owner)):
            shutil.rmtree(left, ignore_errors=True)


def _is_mine(folder: Path) -> bool:
    """Whether it is a folder, no link, of this user."""
    try:
        return not folder.is_symlink() and folder.is_dir() and folder.stat().st_uid == os.getuid()
    except OSError:
        return False


def _runs(process: int) -> bool:
    """Whether a process runs; on Windows, where asking would end it, every one counts as running."""
    if sys.platform == "win32":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # another user's, or no number of a process
        return True
    return True
