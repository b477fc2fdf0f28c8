"""Files read as they should be: a pipe would be waited for without end, a device read until the memory is full."""

from __future__ import annotations

import errno
from pathlib import Path


def bytes_of(path: Path) -> bytes:
    """The bytes of a regular file. Raises OSError where there is none, or where something else stands in its place."""
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "what stands there is no file (a folder, a pipe or a device)", str(path))
    return path.read_bytes()
