"""Seconds that the commands of the candles take on the demo: ``python -m tests.bench.commands``; the bar is 2 s each."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

from tests.books import ROOT, TODAY

COMMANDS = ("capacity", "plan", "backtest", "mix")
BAR_S = 2.0


def seconds(command: str) -> float:
    """Wall seconds of one run in a process of its own."""
    begun = time.perf_counter()
    words = [sys.executable, "-m", "pipeline", command, "data/demo", "--today", TODAY, "--json"]
    subprocess.run(words, cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    medians = {command: statistics.median(seconds(command) for _ in range(5)) for command in COMMANDS}
    for command, taken in medians.items():
        print(f"{command:10} {taken:.2f} s {'' if taken < BAR_S else 'OVER THE BAR'}")
    sys.exit(any(taken >= BAR_S for taken in medians.values()))
