"""The command as a process of its own: what only the entry point can show. All other tests run it in their own process."""

from __future__ import annotations

import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from tests.books import ROOT, TODAY, run, run_process, write
from tests.report_books import one_session

DEMO = ROOT / "data" / "demo"


def test_a_process_of_its_own_says_what_one_in_this_process_says() -> None:
    """But for the name that wrong use is told under."""
    for words in (("yields", DEMO, "--by", "season"), ("stock", DEMO, "--json"), ("check", DEMO)):
        assert run_process(*words) == run(*words)


def test_each_kind_of_end_has_its_exit_code(tmp_path: Path) -> None:
    faulty = write(tmp_path / "book", harvests="harvest,date,comb,mass_g\nH1,2025-05-32,cappings,900")
    (tmp_path / "taken").write_text("a file where the folder should be")
    ends = [("check", DEMO), ("yields", faulty), ("yields", tmp_path / "nowhere"), ("build", DEMO, "--out", tmp_path / "taken")]
    assert [run_process(*words).code for words in ends] == [0, 1, 2, 3]


def test_help_and_version_answer_at_once() -> None:
    """The bar is 0.2 s on a quiet machine; what is held here is that nothing heavy is imported for them."""
    for word in ("--help", "--version"):
        probe = f"import sys; sys.argv=['combtally','{word}']\nfrom pipeline.cli import main\ntry: main()\nexcept SystemExit: pass\n"
        probe += "print([m for m in ('pandas','pandera','duckdb','altair','scipy','numpy','pydantic') if m in sys.modules])"
        done = subprocess.run([sys.executable, "-c", probe], cwd=ROOT, capture_output=True, text=True, check=True)
        assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.skipif(sys.platform == "win32", reason="closes streams by the shell")
def test_a_build_needs_no_open_streams(tmp_path: Path) -> None:
    book = one_session(tmp_path / "demo")
    call = shlex.join([sys.executable, "-m", "pipeline", "build", str(book), "--today", TODAY, "--out", str(tmp_path)])
    for closed, told in (("<&- >&- 2>&-", False), ("2>&-", True)):
        ran = subprocess.run(f"{call} {closed}", shell=True, cwd=ROOT, capture_output=True, encoding="utf-8", check=False)
        assert (ran.returncode, ran.stderr) == (0, "")
        assert ("report: " in ran.stdout) == told
        assert (tmp_path / "demo.html").read_text("utf-8").count("<svg") > 1
        (tmp_path / "demo.html").unlink()
