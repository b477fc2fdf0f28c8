"""Command lines that can be pasted: the book's folder as it was typed, quoted where the shell needs it."""

from __future__ import annotations

import os
import shlex
import subprocess
from pathlib import Path


def command_line(book: Path, name: str, *more: str) -> str:
    """One command on one book: ``combtally check 'my book'``."""
    folder = str(book)
    safe = f"{os.curdir}{os.sep}{folder}" if folder.startswith("-") else folder  # else it would be read as an option
    words = ["combtally", name, safe, *more]
    return subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
