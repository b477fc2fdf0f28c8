"""The main job's products: the database swapped in whole, and the report beside it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline import report
from pipeline.book import DATABASE
from pipeline.findings import MachineFault
from pipeline.flow import Loaded, explain
from pipeline.warehouse import queries


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
    """A path beside the book's database to build in; what is left there is removed, also one of a killed build."""
    for stale in folder.glob(f".{DATABASE}.*"):
        stale.unlink(missing_ok=True)
    path = folder / f".{DATABASE}.{os.getpid()}"
    try:
        yield path
    finally:
        path.unlink(missing_ok=True)
        path.with_name(path.name + ".wal").unlink(missing_ok=True)


def finish(loaded: Loaded, database: Path, out: Path, charts: Path | None = None, pdf: bool = False) -> Built:
    """Write the report (its pictures into ``charts``), swap the finished database in, then print. Raises MachineFault."""
    explain(loaded.warehouse, queries("models"))
    page, headline = report.write(loaded, out, charts)
    loaded.warehouse.close()
    final = loaded.book.folder / DATABASE
    _swap(database, final)
    problems: list[dict[str, Any]] = [f.as_dict() for f in loaded.findings]
    return Built(final, page, report.pdf(page) if pdf else None, loaded.rows, problems, headline)


def _swap(made: Path, final: Path) -> None:
    try:
        with made.open("rb+") as file:
            os.fsync(file.fileno())
        made.replace(final)
    except OSError as fault:
        raise MachineFault(f"{final} could not be replaced: {fault.strerror}") from fault
