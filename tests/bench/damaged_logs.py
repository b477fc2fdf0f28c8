"""Damaged logs through the reader: ``python -m tests.bench.damaged_logs [--logs 20000] [--seed N]``.

Each is written, read and held to the law that no line vanishes (``tests/reading/damaged_logs.py``).
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from random import Random, randrange
from tempfile import TemporaryDirectory

from tests.reading.damaged_logs import damaged, vanished

_TOLD = 1_000
"""After so many logs it says how far it is."""


def main() -> None:
    """Read the command line, damage, read, print."""
    parser = argparse.ArgumentParser(description="damaged logs through the reader")
    parser.add_argument("--logs", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=randrange(10**6))
    asked = parser.parse_args()
    began, lost, slowest = time.perf_counter(), 0, 0.0
    print(f"seed {asked.seed}", flush=True)
    with TemporaryDirectory() as folder:
        for n in range(asked.logs):
            data = damaged(Random(f"{asked.seed} {n}"))
            start = time.perf_counter()
            found = vanished(data, Path(folder))
            slowest = max(slowest, time.perf_counter() - start)
            lost += bool(found)
            if found:
                print(f"log {n}: {found[:3]} in {data!r}")
            if (n + 1) % _TOLD == 0:
                print(f"{n + 1:,} read, {lost} with a line that vanished; {time.perf_counter() - began:.0f} s", flush=True)
    print(f"{asked.logs:,} logs, {lost} with a line that vanished; slowest {slowest:.2f} s; {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
