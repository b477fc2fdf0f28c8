"""A build killed at a moment, and the law: the book's database and report are those before or after, and the next build cleans up."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from tests.books import ROOT, TODAY, kept_rows

OLD = b"the old figures"


def give_old_figures(book: Path) -> None:
    """An old database into the demo, and beside it an old report."""
    (book / "combtally.duckdb").write_bytes(OLD)
    (book.parent / "out").mkdir()
    (book.parent / "out" / "demo.html").write_bytes(OLD)
    (book.parent / "tmp").mkdir()


def build(book: Path, after_s: float | None = None) -> tuple[int, float]:
    """Build the book in a process, killed after so many seconds where given: its exit code and how long it ran, s."""
    out = book.parent / "out"
    command = [sys.executable, "-m", "pipeline", "build", str(book), "--out", str(out), "--today", TODAY]
    quiet, room = subprocess.DEVNULL, {**os.environ, "TMPDIR": str(book.parent / "tmp")}
    began = time.monotonic()
    process = subprocess.Popen(command, cwd=ROOT, stdout=quiet, stderr=quiet, env=room)
    try:
        code = process.wait(after_s)
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
        code = process.wait()
    return code, time.monotonic() - began


def broken(book: Path) -> Iterator[str]:
    """What a kill broke: a database or a report that is neither the old one nor a whole new one."""
    database, report = book / "combtally.duckdb", book.parent / "out" / "demo.html"
    if database.read_bytes() != OLD and not kept_rows(database, "SELECT name FROM settings"):
        yield "the database is neither the old one nor a new one"
    text = report.read_bytes()
    if text != OLD and not text.rstrip().endswith(b"</html>"):
        yield "the report is neither the old one nor a whole new one"


def left(book: Path) -> Iterator[str]:
    """What the next build should have cleaned up: half-made databases, files aside, folders for copies."""
    yield from (str(p) for p in (book / ".combtally").glob("*.duckdb*"))
    yield from (str(p) for p in (book.parent / "tmp").iterdir())
    yield from (str(p) for folder in (book, book.parent / "out") for p in folder.glob(".*") if p.name != ".combtally")
