"""A club of 200 books of 60 sessions: seconds that ``yields --by comb`` over all of them takes, at first and again.

``python -m tests.bench.club [BOOKS]``; the bars are 20 s and 3 s on two cores. And one trace in a book of 100,000 sessions from
its database (bar 1 s): ``python -m tests.bench.club trace``; with it one in a book of six hives and three re-melts (bar .3 s, without the start of Python).
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.bench.make_book import make
from tests.books import run, write


@dataclass(frozen=True)
class Took:
    """Seconds by the clock, and of the processor: what a busy machine does not lengthen as much."""

    wall_s: float
    processor_s: float

    def __str__(self) -> str:
        return f"{self.wall_s:.2f} s ({self.processor_s:.2f} s of processor)"


def command(*words: object) -> Took:
    """What one command takes in a process of its own."""
    begun, before = time.monotonic(), _processor_s()
    done = subprocess.run([sys.executable, "-m", "pipeline", *map(str, words)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-500:]
    return Took(time.monotonic() - begun, _processor_s() - before)


def _processor_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def club(books: int) -> None:
    with TemporaryDirectory() as room:
        folders = [Path(room) / f"book{n}" for n in range(books)]
        for n, folder in enumerate(folders):
            make(folder, sessions=60 + n % 3)
        words = ("yields", *folders, "--by", "comb", "--json", "--today", "2026-11-01")
        print(f"{books} books, at first: {command(*words)}; again: {command(*words)}")


SIX_HIVES = {
    "harvests": "harvest,date,comb,mass_g,apiary,hive\n" + "".join(f"H{n},2025-05-0{n},brood comb,4000,Mill,{n}\n" for n in range(1, 7)),
    "loads": "session,source,part,mass_g\n" + "".join(f"S1,H{n},,4000\n" for n in range(1, 7)) + "S2,S1,wax,5000\nS3,A,,4900\nS4,B,,4800\n",
    "passes": "session,pass,date,method,wax_out_g\nS1,1,2025-06-01,steam,5000\nS2,1,2025-06-02,water bath,4900\n"
    "S3,1,2025-07-01,water bath,4800\nS4,1,2025-08-01,water bath,4700\n",
    "blocks": "block,date,mass_g,session\nA,2025-06-03,4900,S2\nB,2025-07-02,4800,S3\nC,2025-08-02,4700,S4\n",
}


def six_hives() -> None:
    """One trace through three re-melts in this process, figures worked out and recalled."""
    with TemporaryDirectory() as room:
        book = write(Path(room) / "book", **SIX_HIVES)
        taken = []
        for _ in range(4):
            begun = time.monotonic()
            up = run("trace", book, "block C", "--json").json["up"]
            taken.append(time.monotonic() - begun)
        hives = [s["share"] for s in up if s["kind"] == "hive"]
        print(f"six hives, three re-melts: first {taken[0]:.2f} s, then {sorted(taken[1:])[1]:.2f} s; {len(hives)} hives, shares sum to {sum(hives):.6f}")


def trace() -> None:
    six_hives()
    with TemporaryDirectory() as room:
        book = Path(room) / "book"
        make(book, sessions=100_000)
        first = command("yields", book, "--json", "--today", "2026-11-01")
        block = (book / "blocks.csv").read_text("utf-8").splitlines()[-1].split(",")[0]
        again = [command("trace", book, f"block {block}", "--json", "--today", "2026-11-01") for _ in range(3)]
        print(f"100,000 sessions: worked out in {first}; one trace from the database in {sorted(again, key=lambda t: t.processor_s)[1]}")


if __name__ == "__main__":
    trace() if sys.argv[1:] == ["trace"] else club(int(sys.argv[1]) if sys.argv[1:] else 200)
