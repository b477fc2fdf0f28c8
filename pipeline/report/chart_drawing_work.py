"""What the process that draws pictures does; nothing of a build is loaded, as every drawing waits for its start."""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
from contextlib import suppress
from typing import BinaryIO

CUT_OFF = (OSError, EOFError, pickle.UnpicklingError)
"""What a pipe gives when the other end is gone: nothing any more, or half of what was sent."""


def work() -> None:
    """Draw what comes in on the standard input until nothing more can come."""
    gc.disable()  # it ends before collecting pays
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # where there are no such groups
    with suppress(BrokenPipeError), os.fdopen(os.dup(1), "wb") as back:  # a sender that was killed waits for nothing
        os.dup2(2, 1)  # what a library prints must not get among the drawings
        _serve(sys.stdin.buffer, back)


def _serve(pictures: BinaryIO, back: BinaryIO) -> None:
    from pipeline.report import chart_to_svg  # whoever only sends pictures needs no more of this module than the above

    with chart_to_svg.unchecked():
        chart_to_svg.make_ready()
        while True:
            try:
                chart = pickle.load(pictures)
            except CUT_OFF:
                return
            pickle.dump(chart(), back)
            back.flush()
