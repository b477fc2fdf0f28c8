"""What people wait for on a small book, against Python with DuckDB alone: ``python -m tests.bench.small [RUNS]``.

Every command is run on a copy of the demo, each in a process of its own, all of them in every round beside
``python -c "import duckdb"``; the table holds medians by the wall and of processor time, and their ratios to it. On a
machine that does other things at the same time only the ratio of processor time means anything; where a command works on
two cores at once it counts both. Ends with 1 where a bar is missed by both.
"""

from __future__ import annotations

import compileall
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.books import ROOT, TODAY

RUNS = 5


@dataclass
class Case:
    """A command, what is done to the book before each run, and how many times Python with DuckDB it may take."""

    name: str
    words: list[str]
    bar: float
    before: Callable[[], None] = lambda: None
    wall: list[float] = field(default_factory=list)
    busy: list[float] = field(default_factory=list)

    def run(self) -> None:
        """Once, with its seconds noted."""
        self.before()
        used, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        done = subprocess.run(self.words, cwd=ROOT, capture_output=True, stdin=subprocess.DEVNULL, check=False)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.wall.append(time.perf_counter() - start)
        self.busy.append(after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime)
        assert done.returncode == 0, done.stderr.decode()


def cases(book: Path) -> list[Case]:
    """The floor first; those that change the book last."""
    def command(*words: str) -> list[str]:
        return [sys.executable, "-m", "pipeline", words[0], str(book), *words[1:], "--today", TODAY]

    question = (
        "import datetime, pathlib; from pipeline.recording import guided_terminal as g\n"
        f"g.run(pathlib.Path({str(book)!r}), 'session', datetime.date.fromisoformat({TODAY!r}), lambda _: exit(0), lambda _: None)"
    )
    sales = book / "sales.csv"

    def new_row() -> None:
        lines = sales.read_text("utf-8").splitlines()
        sales.write_text("\n".join([*lines, lines[-1]]) + "\n", "utf-8")

    read = [Case(f"{name}, unchanged", command(name), 2.5) for name in ("check", "yields", "losses", "flow", "stock")]
    ahead = [Case(f"{name}, unchanged", command(name), 4) for name in ("plan", "capacity", "trend", "suspects")]
    return [
        Case("python with duckdb", [sys.executable, "-c", "import duckdb"], 1),
        *read,
        *ahead,
        Case("build, unchanged", command("build"), 4),
        Case("first question of record session", [sys.executable, "-c", question], 4),
        Case("yields after a new row", command("yields"), 8, new_row),
        Case("build after a new row", command("build"), 12, new_row),
    ]


def main() -> None:
    """Measure and print."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else RUNS
    missed = []
    compileall.compile_dir(ROOT / "pipeline", quiet=1)  # as wherever it ran once, or was installed
    with tempfile.TemporaryDirectory() as folder:
        ignored = shutil.ignore_patterns(".combtally", "*.duckdb", "reports")
        book = Path(shutil.copytree(ROOT / "data" / "demo", Path(folder) / "demo", ignore=ignored))
        floor, *others = cases(book)
        for case in others[:-2]:
            case.run()  # what a first run has to work out is not asked here
        every = [floor, *others]
        for case in every:
            case.wall.clear()
            case.busy.clear()
        for _ in range(runs):
            for case in every[:-2]:
                case.run()
        for _ in range(runs):
            floor.run()
            for case in every[-2:]:
                case.run()
        base_wall, base_busy = statistics.median(floor.wall), statistics.median(floor.busy)
        print(f"{'':36}{'s':>7}{'x':>7}{'cpu s':>8}{'x':>7}{'bar':>7}   load {os.getloadavg()[0]:.1f}")
        for case in every:
            wall, busy = statistics.median(case.wall), statistics.median(case.busy)
            ratios = wall / base_wall, busy / base_busy
            over = "" if min(ratios) <= case.bar else "  missed"
            missed += [case.name] if over else []
            print(f"{case.name:36}{wall:7.2f}{ratios[0]:7.2f}{busy:8.2f}{ratios[1]:7.2f}{case.bar:7}{over}")
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
