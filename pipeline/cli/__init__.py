"""The ``combtally`` command: parse, call, print, exit."""

from __future__ import annotations

import gc
import os
import signal
import sys

from pipeline.cli import running
from pipeline.cli.command_families import FAMILIES, app

__all__ = ["FAMILIES", "app", "main"]


def _stand_in() -> None:
    """Where a standard stream is closed, nothing takes its place: no other file may get its number and what is printed."""
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(number, True)
    os.close(number)
    sys.stdout = sys.stdout or os.fdopen(1, "w", closefd=False)
    sys.stderr = sys.stderr or os.fdopen(2, "w", closefd=False)


def main() -> None:
    """Run the command line; a fault of the machine is one sentence and exit 3."""
    _stand_in()
    # numpy's matrices are small: more threads only wait for each other
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]
    with running.faults_told():
        try:
            app(sys.argv[1:])()
        finally:
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # a second Ctrl-C has nothing to stop
            gc.freeze()  # nor does tidying up pay
