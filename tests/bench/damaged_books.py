"""Damaged books through every command: ``python -m tests.bench.damaged_books [--books 2000] [--seed N]``.

Copies of the demo and of small books are damaged in their cells, headers, quotes, encodings, settings, files, names and in
what the program keeps; each command runs on each, with words of chance, and is held to the law of
``tests/cli/damaged_books.py``. A book with errors is opened once while its files stay as they are, and one process draws each picture once.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import time
from collections import Counter
from pathlib import Path
from random import Random, randrange
from tempfile import TemporaryDirectory

from tests.cli.damaged_books import broken_by, damaged_book, drawn_by_one, opened_once


def main() -> None:
    """Read the command line, damage, run, print."""
    parser = argparse.ArgumentParser(description="damaged books through every command")
    parser.add_argument("--books", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=randrange(10**6))
    parser.add_argument("--each", type=int, help="command lines on each book; one of each command where it is not said")
    parser.add_argument("--first", type=int, default=0, help="the first book's number")
    parser.add_argument("--minutes", type=float, default=1e9, help="stop after so many")
    asked = parser.parse_args()
    print(f"seed {asked.seed}", flush=True)
    began, commands, kinds, books = time.monotonic(), 0, Counter[str](), 0
    with TemporaryDirectory() as aside, opened_once(), drawn_by_one():
        for n in range(asked.first, asked.first + asked.books):
            if time.monotonic() - began > 60 * asked.minutes:
                break
            rng, folder = Random(f"{asked.seed} {n}"), Path(aside) / str(n)
            (folder / "out").mkdir(parents=True)
            book, done = damaged_book(rng, folder)
            books += 1
            for ran, found in broken_by(rng, book, done, folder / "out", asked.each, build=asked.each is None or n % 25 == 0):
                commands += ran
                for broken in found:
                    kinds[broken.kind] += 1
                    words = " ".join(f"{w[:60]!r}" for w in broken.words)
                    print(f"book {n} {done}\n   {broken.kind}: {words}\n   {broken.told!r}".encode("utf-8", "backslashreplace").decode(), flush=True)
            shutil.rmtree(folder, ignore_errors=True)
            print(f"{n}: {commands} commands", file=sys.stderr)
    told = ", ".join(f"{count} {kind}" for kind, count in kinds.items()) or "nothing broke the law"
    print(f"{books:,} books, {commands:,} commands: {told}; {time.monotonic() - began:.0f} s, {time.process_time():.0f} s of CPU")


if __name__ == "__main__":
    main()
