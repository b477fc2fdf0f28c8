"""The pen: a process of its own that draws, so that Altair and the engine behind it start while a book is still read."""

from __future__ import annotations

import gc
import os
import pickle
import signal
import subprocess
import sys
from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import BinaryIO, Self, cast

from pipeline.contract.findings import MachineFault
from pipeline.report.page_data import Drawing, Picture

_START = "import sys; sys.path[:] = sys.argv[1:]; from pipeline.report import chart_process; chart_process.work()"

_CUT_OFF = (OSError, EOFError, pickle.UnpicklingError)
"""What a pipe gives when the other end is gone: nothing any more, or half of what was sent."""


class Pen:
    """Draws pictures in the order in which they are begun, and makes ready for that from the start.

    A picture's chart is sent over a pipe, pickled, and its drawing comes back. The end of the pipe ends the pen, so that
    it does not outlive a sender that was killed.
    """

    def __init__(self) -> None:
        """Start it."""
        command = [sys.executable, "-c", _START, *sys.path]
        # in a group of its own: the terminal's Ctrl-C is for who sends the pictures
        self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, process_group=0)
        self._queue = ThreadPoolExecutor(1)
        self._begun: dict[str, Future[Drawing]] = {}

    def __enter__(self) -> Self:
        """Use it in a with block."""
        return self

    def __exit__(self, *_: object) -> None:
        """Lay it down; what it has not drawn is not wanted any more."""
        self._process.kill()
        self._queue.shutdown(cancel_futures=True)
        self._process.communicate()

    def begin(self, pictures: Iterable[Picture]) -> None:
        """Have these drawn when the ones before them are."""
        self._begun |= {p.name: self._queue.submit(self._drawn, p) for p in pictures}

    def drawings(self) -> dict[str, Drawing]:
        """What was begun, by the pictures' names, when all is drawn. Raises MachineFault."""
        return {name: drawing.result() for name, drawing in self._begun.items()}

    def _drawn(self, picture: Picture) -> Drawing:
        to, back = cast("BinaryIO", self._process.stdin), cast("BinaryIO", self._process.stdout)
        try:
            pickle.dump(picture.chart, to)
            to.flush()
            drawing: Drawing = pickle.load(back)
        except _CUT_OFF as fault:
            self._process.wait()  # its own last words on stderr come first
            raise MachineFault(f"the picture {picture.name} could not be drawn: the drawing process ended") from fault
        return drawing


def work() -> None:
    """Draw what comes in on the standard input until nothing more can come."""
    gc.disable()  # a pen is laid down before collecting pays
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # where there are no such groups
    with suppress(BrokenPipeError), os.fdopen(os.dup(1), "wb") as back:  # a sender that was killed waits for nothing
        os.dup2(2, 1)  # what a library prints must not get among the drawings
        _serve(sys.stdin.buffer, back)


def _serve(pictures: BinaryIO, back: BinaryIO) -> None:
    from pipeline.report import charts

    with charts.unchecked():
        charts.make_ready()
        while True:
            try:
                chart = pickle.load(pictures)
            except _CUT_OFF:
                return
            pickle.dump(chart(), back)
            back.flush()
