"""A club of 200 books of 60 sessions: seconds that ``yields --by comb`` over all of them takes, at first and again.

``python -m tests.bench.club [BOOKS]``; the bars are 20 s and 3 s on two cores. And one trace in a book of 100,000 sessions from
its database (bar 1 s): ``python -m tests.bench.club trace``.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.bench.make_book import make


def command(*words: object) -> float:
    """Wall seconds of one command in a process of its own."""
    begun = time.monotonic()
    done = subprocess.run([sys.executable, "-m", "pipeline", *map(str, words)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-500:]
    return time.monotonic() - begun


def club(books: int) -> None:
    with TemporaryDirectory() as room:
        folders = [Path(room) / f"book{n}" for n in range(books)]
        for n, folder in enumerate(folders):
            make(folder, sessions=60 + n % 3)
        words = ("yields", *folders, "--by", "comb", "--json", "--today", "2026-11-01")
        print(f"{books} books, at first: {command(*words):.1f} s; again: {command(*words):.1f} s")


def trace() -> None:
    with TemporaryDirectory() as room:
        book = Path(room) / "book"
        make(book, sessions=100_000)
        first = command("yields", book, "--json", "--today", "2026-11-01")
        block = (book / "blocks.csv").read_text("utf-8").splitlines()[-1].split(",")[0]
        again = [command("trace", book, f"block {block}", "--json", "--today", "2026-11-01") for _ in range(3)]
        print(f"100,000 sessions: worked out in {first:.1f} s; one trace from the database in {sorted(again)[1]:.2f} s")


if __name__ == "__main__":
    trace() if sys.argv[1:] == ["trace"] else club(int(sys.argv[1]) if sys.argv[1:] else 200)
