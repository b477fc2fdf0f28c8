"""How long one recording takes on a book of 100 sessions and one of 10,000: ``python -m tests.bench.recording_speed``.

Promised: under 1.0 s at the command line and 0.5 s in the running server on the large one, 0.4 s and 0.15 s on the small
one. In the server the last page of a form, which says what saving would do, is timed beside saving from it, and saving
where another entry came between, so that all is judged again. Prints the fastest and the middle of some tries, in wall
seconds and in seconds of processor time (what a busy machine does not change).
"""

from __future__ import annotations

import compileall
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path

from pipeline.recording.answers_so_far import Draft, Spot
from pipeline.recording.drafts import Kept
from tests.books import ROOT
from tests.web.test_recording_form import Phone

SESSIONS = (100, 10_000)
TRIES = 7


def book(folder: Path, sessions: int) -> None:
    """A book of so many sessions of two passes each."""
    numbers = range(sessions)
    (folder / "book.toml").write_text('name = "Large"\n', encoding="utf-8")
    write(folder, "harvests", "harvest,date,comb,mass_kg", (f"H{n},2024-06-01,cappings,5.5" for n in numbers))
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
    words = ["load", f"session=S{n}", f"source=H{n}", "mass=1 kg"]
    subprocess.run([sys.executable, "-m", "pipeline", "record", str(folder), *words], check=True, capture_output=True)


def in_the_server(phone: Phone) -> Callable[[Path, int], None]:
    """One whole session, over three logs, sent to a running server as the last page of its form sends it."""

    def save(folder: Path, n: int) -> None:
        name = f"{n:016x}"
        page = {"data": {"token": phone.guard.token(name)}, "headers": phone.own}
        sent = phone.client.post(f"/entry/{name}/save", **page, follow_redirects=False)  # type: ignore[arg-type]
        assert sent.status_code == 303
        kept = phone.desk.drafts.find(name)
        assert kept is not None
        assert "blocks.csv line" in kept.saved

    return save


def filled(n: int) -> Kept:
    """A form filled in up to its last page."""
    rows: dict[Spot, str] = {("passes", 1, "session"): f"T{n}", ("loads", 1, "source"): f"H{n}", ("loads", 1, "mass"): "1.2"}
    rows |= {("loads", 2, "source"): "", ("passes", 1, "more"): "yes", ("passes", 1, "date"): "2024-08-01"}
    rows |= {("passes", 1, "method"): "steam", ("passes", 1, "mass_in"): "", ("passes", 1, "wax_out"): "1.1"}
    rows |= {("passes", 1, "residue"): "0.1", ("passes", 2, "more"): "no", ("blocks", 1, "block"): f"T{n}"}
    rows |= {("blocks", 1, "date"): "2024-08-01", ("blocks", 1, "mass"): "1", ("blocks", 2, "block"): ""}
    return Kept(f"{n:016x}", Draft("session", rows))


def complete(phone: Phone, kept: Kept) -> Kept:
    """A form with nothing left to be asked: what it may leave open stays empty."""
    while asked := phone.desk.page(kept):
        kept = replace(kept, draft=replace(kept.draft, answers=kept.draft.answers | {q.spot: "" for q in asked}))
    return kept


def shown(phone: Phone, n: int) -> None:
    """The last page of a form, with what saving it would do."""
    assert "Is this right?" in phone.client.get(f"/entry/{n:016x}").text


def timed(
    label: str,
    folder: Path,
    job: Callable[[Path, int], None],
    tries: range = range(TRIES),
    ahead: Callable[[int], None] = lambda n: None,
) -> None:
    """Print how long a job takes; ``ahead``: what comes before it, untimed."""
    wall, used = [], []
    for n in tries:
        ahead(n)
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
    compileall.compile_dir(ROOT / "pipeline", quiet=1)  # as wherever it ran once, or was installed
    for sessions in SESSIONS:
        sys.stdout.write(f"{sessions} sessions\n")
        with tempfile.TemporaryDirectory() as kept:
            measured(Path(kept), sessions)


def measured(folder: Path, sessions: int) -> None:
    """Both ways on one book."""
    book(folder, sessions)
    timed("  one load at the command line", folder, at_the_command_line)
    phone = Phone(folder, date(2024, 9, 1))
    phone.desk.offers()
    for n in range(2 * TRIES):
        phone.desk.drafts.keep(complete(phone, filled(n)))
    look = partial(shown, phone)
    timed("  its last page in the server: one session over three logs", folder, lambda _, n: look(n))
    timed("  saved from that page", folder, in_the_server(phone), ahead=look)
    timed("  saved, and judged anew", folder, in_the_server(phone), range(TRIES, 2 * TRIES))
    phone.close()


if __name__ == "__main__":
    main()
