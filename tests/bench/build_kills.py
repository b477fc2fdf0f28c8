"""Builds killed at random moments: ``python -m tests.bench.build_kills [--kills 100] [--seed N]``.

Each is a process of its own, killed somewhere in the time that a whole build takes, and held to ``tests/build_kills.py``;
then the book is built again, and nothing may be left beside it.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
from collections import Counter
from pathlib import Path
from random import Random, randrange
from tempfile import TemporaryDirectory

from tests.books import ROOT
from tests.build_kills import OLD, broken, build, give_old_figures, left


def main() -> None:
    """Read the command line, kill, look, build again, print."""
    parser = argparse.ArgumentParser(description="builds killed at random moments")
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=randrange(10**6))
    asked = parser.parse_args()
    print(f"seed {asked.seed}", flush=True)
    rng, ended, wrong, lasted = Random(asked.seed), Counter[str](), 0, list[float]()
    for n in range(asked.kills):
        with TemporaryDirectory() as aside:
            derived = shutil.ignore_patterns("*.duckdb", ".combtally", "reports")
            book = shutil.copytree(ROOT / "data" / "demo", Path(aside) / "demo", ignore=derived)
            give_old_figures(book)
            after_s = rng.uniform(0, 1.1 * statistics.median(lasted)) if lasted else None
            code, _ = build(book, after_s)
            new = (book / "combtally.duckdb").read_bytes() != OLD
            ended["not killed" if code == 0 else "killed, new figures" if new else "killed, old figures"] += 1
            found = list(broken(book))
            code, seconds = build(book)
            lasted.append(seconds)
            found += [f"the next build ended with {code}"] * (code != 0) + [f"left: {path}" for path in left(book)]
            if found:
                wrong += 1
                print(f"kill {n} after {after_s or 0:.3f} s: {found}", flush=True)
    told = ", ".join(f"{count} {what}" for what, count in ended.items())
    print(f"{asked.kills} kills ({told}): {wrong} broke something or left something; a build takes {statistics.median(lasted):.1f} s")


if __name__ == "__main__":
    main()
