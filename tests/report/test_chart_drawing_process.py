"""The drawing process: a second one that draws the same as this one would, and never outlives who sends it pictures."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import time
from datetime import date
from functools import partial
from pathlib import Path

import pytest

from pipeline.contract.findings import MachineFault
from pipeline.report.chart_drawing_process import ChartProcess
from pipeline.report.charts_stock import on_hand
from pipeline.report.page_dataclasses import Drawing, Picture
from pipeline.wording.amounts import Units
from tests.books import ROOT

PAST = [(date(2025, 1, 1), 1000.0), (date(2026, 1, 1), 2000.0)]
SHELF = Picture("shelf", "Wax on hand", "It grew.", partial(on_hand, PAST, Units()))


def ended(process: int, within_s: float = 10) -> bool:
    """Whether a process is gone in time; one that only waits to be buried is."""
    for _ in range(int(within_s / 0.05)):
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return True
        state = Path(f"/proc/{process}/stat")
        if state.exists() and state.read_text().rsplit(")", 1)[1].split()[0] == "Z":
            return True
        time.sleep(0.05)
    return False


def test_it_draws_as_this_process_does_in_the_order_begun() -> None:
    with ChartProcess() as charts:
        charts.begin([SHELF])
        charts.begin([Picture("again", "", "", SHELF.chart)])
        drawings = charts.drawings()
    assert list(drawings) == ["shelf", "again"]
    assert drawings["shelf"] == drawings["again"] == SHELF.chart()


def test_a_chart_that_cannot_be_drawn_is_told_with_its_name(capfd: pytest.CaptureFixture[str]) -> None:
    with ChartProcess() as charts:
        charts.begin([Picture("broken", "", "", partial(Drawing))])
        with pytest.raises(MachineFault, match="the picture broken could not be drawn"):
            charts.drawings()
    assert "missing 1 required positional argument: 'wide'" in capfd.readouterr().err


def test_a_drawing_cut_off_half_way_is_told_with_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    half = pickle.dumps(SHELF.chart())[:1000]
    monkeypatch.setattr("pipeline.report.chart_drawing_process._START", f"import sys; sys.stdin.buffer.read(1); sys.stdout.buffer.write({half!r})")
    with ChartProcess() as charts:
        charts.begin([SHELF])
        with pytest.raises(MachineFault, match="the picture shelf could not be drawn"):
            charts.drawings()


def test_a_chart_cut_off_half_way_ends_it_quietly() -> None:
    half = pickle.dumps(SHELF.chart)[:100]
    done = subprocess.run([sys.executable, "-c", "from pipeline.report import chart_drawing_work; chart_drawing_work.work()"], input=half, capture_output=True, cwd=ROOT)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")


def test_laid_down_with_work_left_it_ends_at_once() -> None:
    start = time.monotonic()
    with ChartProcess() as charts:
        charts.begin([Picture(f"{n}", "", "", SHELF.chart) for n in range(2_000)])
    assert time.monotonic() - start < 30  # all of them would take minutes


@pytest.mark.skipif(sys.platform == "win32", reason="kills and looks by POSIX")
@pytest.mark.parametrize("work", ["pass", "p.begin([test_chart_drawing_process.SHELF] * 200)"], ids=["idle", "drawing"])
def test_it_ends_quietly_when_who_started_it_is_killed(work: str, tmp_path: Path) -> None:
    code = "import time; from tests.report import test_chart_drawing_process; p = test_chart_drawing_process.ChartProcess(); print(p.start().pid, flush=True); " + work + "; time.sleep(60)"
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    said = (tmp_path / "said").open("w")
    with said, subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=said, encoding="utf-8", env=env) as sender:
        assert sender.stdout
        drawing = int(sender.stdout.readline())
        assert not ended(drawing, within_s=1)
        sender.send_signal(signal.SIGKILL)
    assert ended(drawing)
    assert (tmp_path / "said").read_text() == ""


@pytest.mark.skipif(sys.platform == "win32", reason="has no process groups")
def test_ctrl_c_in_a_terminal_is_not_for_it() -> None:
    with ChartProcess() as charts:
        process = charts.start()
        assert os.getpgid(process.pid) == process.pid != os.getpgid(0)


def test_what_was_drawn_before_is_kept_by_what_it_draws_and_nothing_else_is(tmp_path: Path) -> None:
    other = Picture("other", "", "", partial(on_hand, [(date(2025, 1, 1), 1000.0), (date(2026, 1, 1), 2001.0)], Units()))
    with ChartProcess(tmp_path) as charts:
        charts.begin([SHELF, other])
        drawn = charts.drawings()
    with ChartProcess(tmp_path) as charts:
        charts.begin([SHELF])
        assert charts.drawings() == {"shelf": drawn["shelf"]}
        assert charts._process is None, "a picture that stands there was drawn again"
    (kept,) = (tmp_path / ".combtally" / "pictures").iterdir()  # the other is in this page no more
    kept.write_bytes(kept.read_bytes()[:-1])
    with ChartProcess(tmp_path) as charts:
        charts.begin([SHELF])
        assert charts.drawings() == {"shelf": drawn["shelf"]}
        assert charts._process is not None, "half a picture was believed"
