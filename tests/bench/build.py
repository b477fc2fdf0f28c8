"""Seconds and peak memory of a build against the floor: ``python -m tests.bench.build [--sessions N] [--bad SHARE] [--shape mixed]``.

Every figure is the median of three runs, each in a process of its own so that peak memory is its own. The clean book
and, with ``--bad``, the spoilt one are measured in the same run as the floor: only ratios from one run mean anything.
"""

from __future__ import annotations

import argparse
import compileall
import os
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tests.bench.make_book import TODAY, make
from tests.books import ROOT


@dataclass(frozen=True, slots=True)
class Measured:
    """What one command took: seconds by the wall and of processor time, peak memory in GB, and its exit code."""

    seconds: float
    busy: float
    peak_gb: float
    code: int


def measure(arguments: list[str], quiet: Path) -> Measured:
    """Run a Python module in a process of its own and read what the system counted for it."""
    start = time.perf_counter()
    out = os.open(quiet, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    pid = os.posix_spawn(
        sys.executable,
        [sys.executable, "-m", *arguments],
        os.environ,
        file_actions=[(os.POSIX_SPAWN_DUP2, out, 1), (os.POSIX_SPAWN_DUP2, out, 2)],
    )
    os.close(out)
    _, status, usage = os.wait4(pid, 0)
    per_gb = 1e9 if sys.platform == "darwin" else 1e6  # bytes there, kB here
    seconds, busy = time.perf_counter() - start, usage.ru_utime + usage.ru_stime
    return Measured(seconds, busy, usage.ru_maxrss / per_gb, os.waitstatus_to_exitcode(status))


def median(runs: int, once: Callable[[], Measured]) -> Measured:
    """The medians of several runs; the worst exit code, so that no failure hides."""
    found = [once() for _ in range(runs)]
    seconds = statistics.median(m.seconds for m in found)
    busy = statistics.median(m.busy for m in found)
    peak = statistics.median(m.peak_gb for m in found)
    return Measured(seconds, busy, peak, max((m.code for m in found), key=abs))


def floor(book: Path, room: Path) -> Measured:
    """Read and compute with nothing checked, into a fresh file."""
    database = room / "floor.duckdb"
    database.unlink(missing_ok=True)
    return measure(["tests.bench.floor", str(book), str(database)], room / "floor.txt")


def command(name: str, book: Path, room: Path, *more: str) -> Measured:
    """One command of the program on the book, with nothing kept of an earlier one."""
    (book / "combtally.duckdb").unlink(missing_ok=True)
    shutil.rmtree(book / ".combtally", ignore_errors=True)
    return measure(["pipeline", name, str(book), "--today", TODAY, "--json", *more], room / f"{name}.txt")


def build(book: Path, room: Path, *more: str) -> Measured:
    """The main job, report and database included."""
    return command("build", book, room, "--out", str(room / "report"), *more)


def table(runs: int, sessions: int, bad: float, room: Path, shape: str) -> list[tuple[str, Measured]]:
    """What was measured, the floor first; Python's modules are compiled beforehand, as they are wherever they ran once."""
    compileall.compile_dir(ROOT / "pipeline", quiet=1)
    book = room / "book"
    print(f"{make(book, sessions, shape=shape):,} rows, clean")
    base = median(runs, lambda: floor(book, room))
    found = [("floor, into a file", base), ("check", median(runs, lambda: command("check", book, room)))]
    found.append(("build", median(runs, lambda: build(book, room))))
    if bad > 0:
        spoilt = room / "spoilt"
        print(f"{make(spoilt, sessions, bad, shape):,} rows, one in {round(1 / bad)} spoilt")
        found.append(("check, spoilt", median(runs, lambda: command("check", spoilt, room))))
        found.append(("build --leave-out, spoilt", median(runs, lambda: build(spoilt, room, "--leave-out"))))
    return found


def show(measured: list[tuple[str, Measured]]) -> None:
    """Print the table; processor time is the fairer ratio where the machine is shared."""
    base = measured[0][1]
    print(f"{'':28}{'seconds':>9}{'x floor':>9}{'cpu s':>9}{'x floor':>9}{'peak GB':>9}{'exit':>6}")
    for name, m in measured:
        ratios = f"{m.seconds:9.2f}{m.seconds / base.seconds:9.2f}{m.busy:9.2f}{m.busy / base.busy:9.2f}"
        print(f"{name:28}{ratios}{m.peak_gb:9.2f}{m.code:6}")


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description="seconds and peak memory of a build against the floor")
    parser.add_argument("--sessions", type=int, default=100_000)
    parser.add_argument("--bad", type=float, default=0.0, help="also a book with this share of rows spoilt")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--shape", choices=["plain", "mixed"], default="plain")
    asked = parser.parse_args()
    room = Path(tempfile.mkdtemp(prefix="combtally-bench-"))
    try:
        measured = table(asked.runs, asked.sessions, asked.bad, room, asked.shape)
    finally:
        shutil.rmtree(room)
    show(measured)


if __name__ == "__main__":
    main()
