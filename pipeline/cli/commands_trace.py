"""The command that follows wax from hive to candle and back: trace."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli import exit_codes, running
from pipeline.cli.options import BookFolder, Json, LeaveOut, Today

if TYPE_CHECKING:
    from pipeline.answers.trace import Trace
    from pipeline.flow import Loaded

Name = Annotated[
    str, typer.Argument(metavar="ID", help='What to trace: its name, or "KIND NAME", such as "block B24-03".')
]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    app.command()(trace)


def trace(
    book: BookFolder,
    name: Name,
    every: Annotated[bool, typer.Option("--all", help="List every session, block, draw and sale.")] = False,
    charts: Annotated[
        Path | None, typer.Option("--charts", help="A folder for a batch's picture, SVG and PNG.")
    ] = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Trace wax from the hive to the candle. Back to hives and bought blocks, ahead to sales and the shelf."""
    loaded = running.opened(book, today, leave_out)
    found = _found(loaded, name)
    if charts:
        _save_picture(loaded, found, charts)
    from pipeline.wording import trace_sentences
    from pipeline.wording.amounts import Units

    running.emit(
        {"up": found.up, "down": found.down},
        as_json,
        lambda: trace_sentences.trace(found, Units.of(loaded.book), every),
    )


def _save_picture(loaded: Loaded, found: Trace, charts: Path) -> None:
    """A batch's way from its hives as SVG and PNG; wrong use where it is no batch that can be followed."""
    from pipeline.answers.trace import journey
    from pipeline.report.page_of_book import units_of
    from pipeline.report.pdf_and_picture_files import save_charts
    from pipeline.report.section_trace import picture_of

    way = journey(loaded, found.id) if found.kind == "batch" else None
    if way is None:
        running.stop("there is a picture of batches alone, for which blocks were drawn", exit_codes.WRONG_USE)
    picture = picture_of(way, units_of(loaded))
    save_charts({picture.name: picture.chart()}, charts)


def _found(loaded: Loaded, name: str) -> Trace:
    """The trace; wrong use where the name means nothing, and exit 1 where the book runs in a circle."""
    from pipeline.analyses.trace_shares import LoopError
    from pipeline.answers import trace
    from pipeline.wording import trace_sentences

    found = trace.trace(loaded, name)
    if isinstance(found, trace.NotFound):
        running.stop(trace_sentences.not_found(found), exit_codes.WRONG_USE)
    if isinstance(found, LoopError):
        running.stop(
            f"wax cannot come from itself: {found}; correct the row that closes the circle", exit_codes.BOOK_HAS_ERRORS
        )
    return found
