"""A guided session on a real terminal: back, correction, a warning kept, save, undo; Ctrl-C anywhere changes nothing."""

import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.books import run
from tests.web.test_recording_form import LOGS

TALK = [
    ("session –", ""),
    ("What went into the pot", "A2"),
    ("weight of A2", "2 kg"),
    ("Anything else in the pot", "<"),
    ("weight of A2", "5 lb 4 oz"),
    ("Anything else in the pot", ""),
    ("Is the wax out yet", ""),
    ("date –", ""),
    ("method –", "3"),
    ("weight in", "9 stone"),
    ("weight in", ""),
    ("wax out", "2.5 kg"),
    ("keep it?", "no"),
    ("wax out", "1,4 kg"),
    ("residue", "1.2 kg"),
    ("keep it?", "yes"),
    ("hottest", ""),
    ("time", ""),
    ("filter", ""),
    ("Another pass?", ""),
    ("block –", "B2"),
    ("date –", ""),
    ("weight (kg)", "1.38"),
    ("colour", ""),
    ("place", ""),
    ("next block –", ""),
    ("save?", "yes"),
    ("Record another session?", ""),
]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    folder = tmp_path / "Larkmoor"
    folder.mkdir()
    (folder / "book.toml").write_text('name = "Larkmoor"\n', encoding="utf-8")
    for name, text in LOGS.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def _heeds_interrupts() -> None:
    """The jobs of a script ignore them, and what they start does too."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


class Terminal:
    """A pseudo-terminal with the command in it."""

    def __init__(self, *command: str) -> None:
        self.screen, inner = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "pipeline", *command],
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
            preexec_fn=_heeds_interrupts,  # noqa: PLW1509 - the tests have no thread here
        )
        os.close(inner)
        self.seen = ""

    def wait_for(self, words: str) -> None:
        started, mark = time.monotonic(), len(self.seen)
        while words not in self.seen[mark:]:
            assert time.monotonic() - started < 60, f"waited for {words!r}, saw {self.seen[-400:]!r}"
            if select.select([self.screen], [], [], 0.2)[0]:
                self.seen += os.read(self.screen, 65536).decode(errors="replace")

    def type(self, text: str) -> None:
        os.write(self.screen, (text + "\n").encode())

    def interrupt(self) -> None:
        """Ctrl-C; once more where the first fell into the moment before the terminal was asked."""
        for _ in range(3):
            os.killpg(self.process.pid, signal.SIGINT)
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                continue
            return

    def end(self) -> int:
        code = self.process.wait(60)
        while select.select([self.screen], [], [], 0.1)[0]:
            try:
                self.seen += os.read(self.screen, 65536).decode(errors="replace")
            except OSError:
                break
        os.close(self.screen)
        return code


def logs(book: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in book.glob("*.csv")}


def talk(book: Path, until: int = len(TALK), said: list[tuple[str, str]] = TALK, today: str = "2025-09-01") -> Terminal:
    terminal = Terminal("record", str(book), "session", "--today", today)
    for words, answer in said[:until]:
        terminal.wait_for(words)
        terminal.type(answer)
    return terminal


def test_back_correction_warning_kept_save_and_undo(book: Path) -> None:
    before = logs(book)
    terminal = talk(book)
    assert terminal.end() == 0, terminal.seen
    assert "never water" in terminal.seen.lower()
    assert "2.38 kg" in terminal.seen, "a weight said aloud is shown back in the book's unit"
    assert "stone is not a unit" in terminal.seen
    assert re.search(r"2\.50 kg of wax is 119 g more than went in \(2\.38 kg\)", terminal.seen)
    assert "wax and residue are 219 g more than went in" in terminal.seen
    assert "in 2.38 kg, out 1.40 kg, residue 1.20 kg: 219 g more came out than went in" in " ".join(terminal.seen.split())
    after = logs(book)
    assert after["loads.csv"].decode() == LOGS["loads"] + "S2,A2,,2.381359943\n"
    assert after["passes.csv"].decode() == LOGS["passes"] + "S2,1,2025-09-01,steam,,1.4,1.2\n"
    assert after["blocks.csv"].decode() == LOGS["blocks"] + "B2,2025-09-01,1.38,S2\n"
    assert run("undo", book, today=None).code == 0
    assert logs(book) == before


def stops() -> list[int]:
    """A few places by default; every question where COMBTALLY_FULL is set."""
    return list(range(0, len(TALK) - 1, 1 if os.environ.get("COMBTALLY_FULL") else 7))


@pytest.mark.parametrize("at", stops())
def test_ctrl_c_anywhere_leaves_the_book_untouched(book: Path, at: int) -> None:
    before = logs(book)
    terminal = talk(book, at)
    terminal.wait_for(TALK[at][0])
    terminal.interrupt()
    terminal.end()
    assert "Traceback" not in terminal.seen
    assert "nothing of this entry was written" in terminal.seen
    assert logs(book) == before


def test_a_name_that_nothing_has_and_a_mass_in_that_is_not_what_was_loaded_are_asked_about(book: Path) -> None:
    before = logs(book)
    said = [
        ("session –", ""), ("What went into the pot", "none"), ("keep it?", "A2"), ("weight of A2", "2.38 kg"), ("Anything else in the pot", "A9"),
        ("keep it?", "yes"), ("weight of A9", "1"), ("Anything else in the pot", ""), ("Is the wax out yet", ""), ("date –", ""),
        ("method –", "3"), ("weight in", "33.8"), ("keep it?", "3.38"), ("wax out", "1.4"), ("residue", "1"),
        ("hottest", ""), ("time", ""), ("filter", ""), ("Another pass?", ""), ("block –", "-"), ("save?", ""),
    ]  # fmt: skip
    terminal = talk(book, len(said), said)
    assert terminal.end() == 0, terminal.seen
    assert "no harvest, block or session in this book is named A9" in terminal.seen
    assert "33.80 kg is 30.42 kg more than was loaded (3.38 kg)" in terminal.seen
    assert "left open" in terminal.seen, "an entry that cannot be saved yet is kept, not lost"
    assert logs(book) == before
    assert all(len(line) <= 80 for line in terminal.seen.splitlines())


def test_a_book_begun_in_pounds_takes_a_bare_number_as_pounds(tmp_path: Path) -> None:
    terminal = Terminal("new", str(tmp_path / "Ridge"))
    for words, answer in [
        ("Whose book", "Ridge"),
        ("Weights", "stone"),
        ("expected one of g, kg, oz, lb", "lb"),
        ("Lengths in mm or in [in]", ""),
        ("Temperatures in C or F [F]", ""),
        ("Money", "USD"),
        ("Dates", "<"),
        ("Money, as three letters [USD]", ""),
        ("month-first (8/14) [month-first]", "iso"),
        ("season", ""),
        ("smallest step", "0.1 oz"),
        ("A pot", "crock = 2 lb 2 oz"),
        ("A pot", ""),
    ]:
        terminal.wait_for(words)
        terminal.type(answer)
    assert terminal.end() == 0, terminal.seen
    row = ["harvest=H1", "date=2026-06-01", "comb=cappings", "mass=12.5"]
    assert run("record", tmp_path / "Ridge", "harvest", *row, today=None).code == 0
    assert '"crock" = "2 lb 2 oz"' in (tmp_path / "Ridge" / "book.toml").read_text("utf-8")
    assert (tmp_path / "Ridge" / "harvests.csv").read_text("utf-8").splitlines()[1].startswith("H1,2026-06-01,cappings,12.5,")
    assert "peak_temp_f" in (tmp_path / "Ridge" / "passes.csv").read_text("utf-8")


@pytest.mark.parametrize("kind", ["nothing", "passing"])
def test_what_is_no_kind_of_row_is_answered_with_what_can_be_recorded(book: Path, kind: str) -> None:
    ran = run("record", book, kind, "date=2026-06-01")
    assert (ran.code, ran.err.partition(",")[0]) == (2, "Say what to record: session")
