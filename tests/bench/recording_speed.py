"""How long one recording takes on a book of 10,000 sessions: ``python -m tests.bench.recording_speed``.

Promised: under 0.5 s at the command line and under 50 ms in the running server. Prints the fastest and the middle of some
tries, in wall seconds and in seconds of processor time (what a busy machine does not change).
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from pipeline.recording.drafts import Kept
from pipeline.recording.form.desk import Desk
from pipeline.recording.guide import Draft
from pipeline.recording.offers import Offers

SESSIONS = 10_000
TRIES = 7


def book(folder: Path) -> None:
    """A book of 10,000 sessions of two passes each."""
    numbers = range(SESSIONS)
    (folder / "book.toml").write_text('name = "Large"\n', encoding="utf-8")
    write(folder, "harvests", "harvest,date,comb,mass_kg", (f"H{n},2024-06-01,cappings,2.5" for n in numbers))
    write(folder, "loads", "session,source,part,mass_kg,pass", (f"S{n},H{n},,2.4,1" for n in numbers))
    passes = (f"S{n},{p},2024-07-0{p},steam,,{2 - p / 10:.1f},0.2" for n in numbers for p in (1, 2))
    write(folder, "passes", "session,pass,date,method,mass_in_kg,wax_out_kg,residue_kg", passes)
    write(folder, "blocks", "block,date,mass_kg,session", (f"B{n},2024-07-02,1.75,S{n}" for n in numbers))


def write(folder: Path, log: str, header: str, rows: object) -> None:
    """One log."""
    lines: list[str] = [header, *rows]  # type: ignore[misc]
    (folder / f"{log}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def at_the_command_line(folder: Path, n: int) -> None:
    """One load recorded by a command of its own."""
    words = ["load", f"session=N{n}", f"source=H{n}", "mass=1 kg"]
    subprocess.run([sys.executable, "-m", "pipeline", "record", str(folder), *words], check=True, capture_output=True)


def in_the_server(desk: Desk) -> Callable[[Path, int], None]:
    """One pass saved from a draft at a desk that is running."""

    def save(folder: Path, n: int) -> None:
        given = {"session": f"T{n}", "date": "2024-08-01", "method": "steam", "wax_out": "1.1"}
        kept = Kept(f"{n:016x}", Draft("session", {("passes", 1, name): text for name, text in given.items()}))
        desk.drafts.keep(kept)
        _, outcome = desk.save(kept.name)
        assert outcome is not None
        assert outcome.written

    return save


def timed(label: str, folder: Path, job: Callable[[Path, int], None]) -> None:
    """Print how long a job takes."""
    wall, used = [], []
    for n in range(TRIES):
        before, started = processor_s(), time.perf_counter()
        job(folder, n)
        wall.append(time.perf_counter() - started)
        used.append(processor_s() - before)
    told = f"wall fastest {min(wall):.3f} s, middle {statistics.median(wall):.3f} s; processor {statistics.median(used):.3f} s"
    sys.stdout.write(f"{label}: {told}\n")


def processor_s() -> float:
    """Processor time of this process and its ended children, s."""
    kinds = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(u.ru_utime + u.ru_stime for u in map(resource.getrusage, kinds))


def main() -> None:
    """Make the book, time both ways."""
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        book(folder)
        timed("one load at the command line", folder, at_the_command_line)
        desk = Desk(folder, date(2024, 9, 1), folder)
        known: Offers = desk.offers()
        timed(f"one pass in the server ({len(known.lots)} lots on offer)", folder, in_the_server(desk))


if __name__ == "__main__":
    main()
