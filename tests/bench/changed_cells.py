"""Cells changed in random logs of random dialects: ``python -m tests.bench.changed_cells [--logs 2000] [--seed N]``."""

from __future__ import annotations

import argparse
from pathlib import Path
from random import Random, randrange
from tempfile import TemporaryDirectory

from tests.recording.changed_cells import misplaced


def main() -> None:
    """Read the command line, change, compare, print."""
    parser = argparse.ArgumentParser(description="cells changed in random logs of random dialects")
    parser.add_argument("--logs", type=int, default=2_000)
    parser.add_argument("--seed", type=int, default=randrange(10**6))
    asked = parser.parse_args()
    print(f"seed {asked.seed}")
    with TemporaryDirectory() as folder:
        wrong = [(n, why) for n in range(asked.logs) if (why := misplaced(Random(f"{asked.seed} {n}"), Path(folder)))]
    for n, why in wrong[:5]:
        print(f"log {n}: {why}")
    print(f"{asked.logs:,} logs, {len(wrong)} in which something else changed")


if __name__ == "__main__":
    main()
