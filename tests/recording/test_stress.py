"""Many hands at once, and the plug pulled at any moment. COMBTALLY_FULL=1 runs the full counts (DEVELOPERS.md: Security).

By default 4 writers record 3 times each and 16 kills fall; in full 20 writers record 50 times each and 300 kills fall.
"""

import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pytest

from pipeline.recording import journal, record_and_undo
from tests.books import run
from tests.web.test_recording_form import Phone

FULL = bool(os.environ.get("COMBTALLY_FULL"))
WRITERS, EACH = (20, 50) if FULL else (4, 3)
KILLS = 300 if FULL else 16
_ALONE = 10  # kills before a try is timed anew
BLOCK = "block,date,mass_kg,supplier\nB0,2025-01-01,1,Ann\n"
DRAWS = "date,block,mass_kg,use,notes\n"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    folder = tmp_path / "Larkmoor"
    folder.mkdir()
    (folder / "book.toml").write_text('name = "Larkmoor"\n', encoding="utf-8")
    (folder / "blocks.csv").write_text(BLOCK)
    (folder / "draws.csv").write_text(DRAWS)
    return folder


WRITER = """
import sys
from datetime import date
from pathlib import Path
from pipeline.recording import record_and_undo
book, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
for n in range(count):
    row = {"date": "2025-02-01", "block": "B0", "mass": "1 g", "use": "given", "notes": f"{name}-{n}"}
    assert not record_and_undo.record(book, {"draws": [row]}, name, date(2027, 1, 1)).refused
"""


def test_many_writers_at_once_lose_and_double_nothing(book: Path) -> None:
    """Half the writers are processes of their own, as at terminals; half send forms to one running server."""
    phone = Phone(book)
    phone.client.timeout = 600  # so many hands wait for each other
    alone = phone.own | {"connection": "close"}  # else an idle connection may close while it is taken up again
    readable = threading.Event()
    broken: list[str] = []

    def watch() -> None:
        while not readable.is_set():
            text = (book / "draws.csv").read_text()
            if not (
                text.startswith(DRAWS)
                and text.endswith("\n")
                and all(line.count(",") == 4 for line in text.splitlines())
            ):
                broken.append(text[-200:])
            time.sleep(0.002)

    def by_form(name: str) -> None:
        for n in range(EACH):
            kept = phone.desk.drafts.new("draw")
            given = {"date": "2025-02-01", "block": "B0", "mass": "1 g", "use": "given", "notes": f"{name}-{n}"}
            for column, text in given.items():
                kept = kept.with_page({("draws", 1, column): text})
            phone.desk.drafts.keep(kept)
            token = phone.guard.token(kept.name)
            phone.guard._posts.clear()
            for _ in range(2):
                sent = phone.client.post(
                    f"/entry/{kept.name}/save", data={"token": token}, headers=alone, follow_redirects=False
                )
                assert sent.status_code == 303

    def by_terminal(name: str) -> None:
        subprocess.run([sys.executable, "-c", WRITER, str(book), name, str(EACH)], check=True, timeout=600)

    watcher = threading.Thread(target=watch)
    watcher.start()
    with ThreadPoolExecutor(WRITERS) as pool:
        jobs = [pool.submit(by_form if w % 2 else by_terminal, f"w{w}") for w in range(WRITERS)]
        for job in jobs:
            job.result()
    readable.set()
    watcher.join()
    phone.close()
    notes = [line.rsplit(",", 1)[1] for line in (book / "draws.csv").read_text().splitlines()[1:]]
    assert broken == []
    assert sorted(notes) == sorted(f"w{w}-{n}" for w in range(WRITERS) for n in range(EACH))


SESSION = {
    "loads": [{"session": "S1", "source": "A1", "mass": "2 kg"}],
    "passes": [{"session": "S1", "pass": "1", "date": "2025-06-02", "method": "solar", "wax_out": "1.5 kg"}],
    "blocks": [{"block": "B1", "date": "2025-06-02", "mass": "1.45 kg", "session": "S1"}],
}


def test_killed_at_random_moments_the_book_is_before_or_after(tmp_path: Path) -> None:
    """Each try records one session over three logs in a process that is killed after a random while."""
    dice, pipe = random.Random(11), os.pipe()
    seen = {"before": 0, "after": 0}
    usual_s = 0.0
    for n in range(KILLS + KILLS // _ALONE + 1):
        folder = tmp_path / str(n)
        folder.mkdir()
        (folder / "book.toml").write_text('name = "Larkmoor"\n')
        (folder / "harvests.csv").write_text("harvest,date,comb,mass_kg\nA1,2025-06-01,cappings,2\n")
        before = state(folder)
        reading, writing = pipe
        pid = os.fork()
        if pid == 0:
            os.write(writing, b"!")
            record_and_undo.record(folder, SESSION, "session S1", date(2027, 1, 1))
            os._exit(0)
        os.read(reading, 1)
        started = time.monotonic()
        if n % (_ALONE + 1) == 0:  # left alone and timed, so that the kills fall into the work on any machine, busy or not
            os.waitpid(pid, 0)
            usual_s = time.monotonic() - started
            continue
        time.sleep(dice.random() * usual_s * 1.5)
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        journal.recover(folder)
        now = state(folder)
        rows = {name: text.count(b"S1") for name, text in now.items() if name != "harvests.csv"}
        assert now == before or rows == {"loads.csv": 1, "passes.csv": 1, "blocks.csv": 1}, n
        seen["before" if now == before else "after"] += 1
    assert seen["before"] >= KILLS // 16, "the kills fell before anything was decided"
    assert seen["after"] >= KILLS // 16, "the kills fell after everything was done"


def state(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in sorted(folder.glob("*.csv"))}


def command(*words: str) -> subprocess.CompletedProcess[str]:
    """In a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "pipeline", *words], capture_output=True, text=True, check=False, timeout=120
    )


def test_a_full_disk_is_exit_3_one_sentence_and_an_untouched_book(tmp_path: Path, book: Path) -> None:
    """A file system of a few pages, filled to the brim; needs the right to mount one."""
    small = tmp_path / "small"
    small.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(small)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no right to mount a small file system; the fault injected at every call covers this")
    try:
        for path in book.glob("*.*"):
            (small / path.name).write_bytes(path.read_bytes())
        (small / ".combtally").mkdir()
        (small / ".combtally" / "lock").touch()
        with (small / "filler").open("wb", buffering=0) as filler:
            try:
                while True:
                    filler.write(b"x" * 1024)
            except OSError:
                pass
        before = state(small)
        told = command("record", str(small), "draw", "date=2025-02-01", "block=B0", "mass=1 g", "use=given")
        assert told.returncode == 3
        assert len(told.stderr.splitlines()) == 1
        assert state(small) == before
    finally:
        subprocess.run(["umount", str(small)], check=False)


def test_no_permission_is_exit_3_and_an_untouched_book(book: Path) -> None:
    if os.geteuid() == 0:
        (book / ".combtally").write_text(
            "a file where the folder should be"
        )  # root may write anywhere; this it may not
    else:
        book.chmod(0o500)
    before = state(book)
    told = command("record", str(book), "draw", "date=2025-02-01", "block=B0", "mass=1 g", "use=given")
    book.chmod(0o700)
    assert told.returncode == 3
    assert len(told.stderr.splitlines()) == 1
    assert state(book) == before


def test_record_then_build_gives_the_figures_of_rows_typed_by_hand(tmp_path: Path) -> None:
    by_hand, recorded = tmp_path / "hand", tmp_path / "recorded"
    for folder in (by_hand, recorded):
        folder.mkdir()
        (folder / "book.toml").write_text('name = "Larkmoor"\n')
    (by_hand / "harvests.csv").write_text("harvest,date,comb,mass\nA1,2025-06-01,cappings,5 lb 4 oz\n")
    (by_hand / "loads.csv").write_text("session,source,mass\nS1,A1,2 kg\n")
    (by_hand / "passes.csv").write_text(
        "session,pass,date,method,wax_out,peak_temp\nS1,1,2025-06-02,solar,1.5 kg,165 °F\n"
    )
    (by_hand / "blocks.csv").write_text("block,date,mass,session\nB1,2025-06-02,51 oz,S1\n")
    assert run("record", recorded, "harvest", "harvest=A1", "date=2025-06-01", "comb=cappings", "mass=5 lb 4 oz").code == 0
    rows = {
        "loads": SESSION["loads"],
        "passes": [SESSION["passes"][0] | {"peak_temp": "165 °F"}],
        "blocks": [SESSION["blocks"][0] | {"mass": "51 oz"}],
    }
    (tmp_path / "rows.json").write_text(json.dumps(rows))
    assert run("record", recorded, "--from", tmp_path / "rows.json").code == 0
    for figure in (["yields", "--by", "session"], ["losses"], ["flow"], ["stock"]):
        one, other = (run(figure[0], b, *figure[1:], "--json", today="2025-12-01").json for b in (by_hand, recorded))
        assert one == other
        assert one != []
