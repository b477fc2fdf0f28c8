"""The main job's products: the database swapped in whole, and the report beside it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import filelock

from pipeline import report
from pipeline.book.book_folder import DATABASE, WORKSHOP
from pipeline.contract.findings import MachineFault
from pipeline.database.database_file import Keeper
from pipeline.flow import Loaded
from pipeline.report.chart_process import Pen

_PATIENCE_S = 120
"""So long a second build of one book waits: many times what the largest that was measured takes."""


@dataclass(frozen=True, slots=True)
class Built:
    """What a build made: the database, the report, rows read, findings, and the season in one sentence."""

    database: Path
    report: Path
    pdf: Path | None
    rows: dict[str, int]
    problems: list[dict[str, object]]
    headline: str


@contextmanager
def aside(folder: Path) -> Iterator[Path]:
    """A path inside the book to build its database at, held against other builds; what a killed one left is removed.

    Raises MachineFault where nothing may be written there or another build does not end.
    """
    path = folder / WORKSHOP / DATABASE
    with ExitStack() as held:
        try:
            path.parent.mkdir(exist_ok=True)
            held.enter_context(filelock.FileLock(folder / WORKSHOP / "build", timeout=_PATIENCE_S))
            _remove(path)
        except filelock.Timeout as fault:
            raise MachineFault(f"another build has held {folder} for {_PATIENCE_S} seconds; try again") from fault
        except OSError as fault:
            raise MachineFault(f"the database of {folder} cannot be written: {fault.strerror}") from fault
        held.callback(_remove, path)
        yield path


def _remove(path: Path) -> None:
    for file in (path, path.with_name(path.name + ".wal")):
        file.unlink(missing_ok=True)


@dataclass(frozen=True, slots=True)
class Site:
    """Where a book is built: a pen that draws, and a keeper of the database file that works while the book is reckoned."""

    pen: Pen
    keeper: Keeper
    file: Path

    def finish(self, loaded: Loaded, out: Path, charts: Path | None = None, pdf: bool = False) -> Built:
        """Write the report (its pictures into ``charts``) and the database, swap that in, then print. Raises MachineFault."""
        final = loaded.book.folder / DATABASE
        kept = self.keeper.finish(loaded.warehouse, loaded.book, anew=bool(loaded.left_out))
        page, headline = report.write(loaded, out, self.pen, charts)
        kept.result()
        _swap(self.file, final)
        paper = "Letter" if loaded.book.show.length == "in" else "A4"
        problems: list[dict[str, Any]] = [f.as_dict() for f in loaded.findings]
        return Built(final, page, report.pdf(page, paper) if pdf else None, loaded.rows, problems, headline)


@contextmanager
def site(folder: Path, pen: Pen) -> Iterator[Site]:
    """A site for a build in a book's folder, cleared at the end. Raises MachineFault."""
    with aside(folder) as file, Keeper(file) as keeper:
        yield Site(pen, keeper, file)


def _swap(made: Path, final: Path) -> None:
    try:
        with made.open("rb+") as file:
            os.fsync(file.fileno())
        made.replace(final)
    except OSError as fault:
        raise MachineFault(f"{final} could not be replaced: {fault.strerror}") from fault
