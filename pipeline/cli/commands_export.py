"""The command that writes a book out for other programs: export."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli import running
from pipeline.cli.options import BookFolder, Json, LeaveOut, Today


class Form(StrEnum):
    """What the files are."""

    CSV = "csv"
    PARQUET = "parquet"
    XLSX = "xlsx"
    PACKAGE = "package"


Folder = Annotated[Path, typer.Argument(metavar="DIR", help="The folder for the files.")]
As = Annotated[Form, typer.Option("--as", help="The kind of files; package: CSV with a description of every column.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    app.command()(export)


def export(
    book: BookFolder,
    folder: Folder,
    form: As = Form.CSV,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Write logs and figures for other programs. CSV, Parquet, a workbook or a data package."""
    running.fit_for_a_book(folder)
    loaded = running.opened(book, today, leave_out)
    from pipeline.export.export import export
    from pipeline.wording.amounts import Units

    files = export(loaded, folder, form)
    running.emit({"files": files}, as_json, lambda: f"{Units().plural(len(files), 'file')} written to {folder}")
