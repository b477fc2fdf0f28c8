"""The pictures of a report: those kept from an earlier one, and a process of its own that draws the others.

Altair and the engine under it take a second to start; in a process of their own they start while a book is still read.
"""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict
from pathlib import Path
from typing import BinaryIO, Self, cast

from pipeline.contract.findings import MachineFault
from pipeline.database.made_from import program
from pipeline.database.text_cache import KeptTexts, digest_of
from pipeline.report.chart_drawing_work import CUT_OFF
from pipeline.report.page_dataclasses import Drawing, Picture

_START = (
    "import sys; sys.path[:] = sys.argv[1:]; from pipeline.report import chart_drawing_work; chart_drawing_work.work()"
)


class ChartProcess:
    """Draws pictures in the order in which they are begun; one that was drawn before is taken from the book's folder.

    A picture's chart is sent over a pipe, pickled, and its drawing comes back. The end of the pipe ends the process, so
    that it does not outlive a sender that was killed.
    """

    def __init__(self, book: Path | None = None) -> None:
        """``book``: the folder that drawings are kept in; None: every picture is drawn. The process starts when needed."""
        self._kept = KeptTexts(book, "pictures") if book else None
        self._process: subprocess.Popen[bytes] | None = None
        self._queue = ThreadPoolExecutor(1)
        self._begun: dict[str, Future[Drawing]] = {}
        self._keys: list[str] = []

    def __enter__(self) -> Self:
        """Use it in a with block."""
        return self

    def __exit__(self, *_: object) -> None:
        """End the process; what it has not drawn is not wanted any more."""
        if self._process:
            self._process.kill()
        self._queue.shutdown(cancel_futures=True)
        if self._process:
            self._process.communicate()

    def start(self) -> subprocess.Popen[bytes]:
        """Start the process, if it does not run: whoever knows that there will be something to draw does so early."""
        if self._process is None:
            command = [sys.executable, "-c", _START, *sys.path]
            # in a group of its own: the terminal's Ctrl-C is for who sends the pictures
            self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, process_group=0)
        return self._process

    def begin(self, pictures: Iterable[Picture]) -> None:
        """Have these drawn when the ones before them are."""
        self._begun |= {p.name: self._queue.submit(self._drawing, p) for p in pictures}

    def drawings(self) -> dict[str, Drawing]:
        """What was begun, by the pictures' names, when all is drawn. Raises MachineFault."""
        found = {name: drawing.result() for name, drawing in self._begun.items()}
        if self._kept:
            self._kept.keep_only(self._keys)
        return found

    def _drawing(self, picture: Picture) -> Drawing:
        """A picture as it was kept, or drawn now and kept."""
        if self._kept is None:
            return self._drawn(picture)
        key = digest_of(program(), pickle.dumps(picture.chart).hex())
        self._keys.append(key)
        if text := self._kept.get(key):
            return Drawing(**json.loads(text))
        drawing = self._drawn(picture)
        self._kept.put(key, json.dumps(asdict(drawing)))
        return drawing

    def _drawn(self, picture: Picture) -> Drawing:
        process = self.start()
        to, back = cast("BinaryIO", process.stdin), cast("BinaryIO", process.stdout)
        try:
            pickle.dump(picture.chart, to)
            to.flush()
            drawing: Drawing = pickle.load(back)
        except CUT_OFF as fault:
            process.wait()  # its own last words on stderr come first
            raise MachineFault(f"the picture {picture.name} could not be drawn: the drawing process ended") from fault
        return drawing
