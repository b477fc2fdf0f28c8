"""The commands that write into the logs: record, change, undo, sheet, serve."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import running
from pipeline.cli.running import BookFolder, Json, Today

if TYPE_CHECKING:
    from pipeline.columns import Log
    from pipeline.recording.entry import Outcome

Cells = Annotated[list[str] | None, typer.Argument(metavar="COLUMN=VALUE …", help="Cells; a value may carry its unit.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (record, change, undo):
        app.command()(command)


def record(
    book: BookFolder,
    kind: Annotated[str | None, typer.Argument(metavar="KIND", help="harvest, load, pass, block … or session.")] = None,
    cells: Cells = None,
    from_file: Annotated[str | None, typer.Option("--from", help="A JSON or XLSX file of rows, or - for JSON.")] = None,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Add rows to the logs, all or nothing; without cells, ask for them."""
    folder = running.folder(book)
    if not cells and from_file is None:
        return _asked(folder, kind, today or date.today(), as_json)
    if from_file is not None:
        rows, what = _rows_from(folder, from_file), f"rows from {from_file}"
    else:
        log = _log(kind)
        rows, what = {log.name: [_pairs(cells or [])]}, " ".join([str(kind), *(cells or [])[:1]])
    return _tell(_recorded(folder, rows, what), as_json)


def change(
    book: BookFolder,
    kind: Annotated[str, typer.Argument(metavar="KIND", help="What the row is: harvest, pass, batch …")],
    key: Annotated[str, typer.Argument(metavar="KEY", help="The row's name (parts joined by /) or its line.")],
    cells: Annotated[list[str], typer.Argument(metavar="COLUMN=VALUE …", help="The cells to change.")],
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Change cells of one row in place."""
    from pipeline.recording import mending

    _tell(mending.change(running.folder(book), _log(kind), key, _pairs(cells)), as_json)


def undo(book: BookFolder, as_json: Json = False, today: Today = None) -> None:
    """Take the last recording or change back."""
    from pipeline.recording import entry

    undone = entry.undo(running.folder(book))
    if undone is None:
        running.stop("there is no recording to take back", running.WRONG_USE)
    if isinstance(undone, list):
        running.stop(
            f"{' and '.join(undone)} changed since the last recording, so that taking it back would lose that change; "
            "mend the row with combtally change",
            running.WRONG_USE,
        )
    running.emit({"undone": undone}, as_json, lambda: f"taken back: {undone}")


def sheet(
    book: BookFolder,
    out: Annotated[Path, typer.Option("--out", help="Where the files go.")] = Path("reports"),
    xlsx: Annotated[bool, typer.Option("--xlsx", help="A workbook to fill in instead of paper.")] = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Make a blank log sheet to print, or a workbook to fill in."""
    from pipeline.recording import sheets, workbook

    make = workbook.make if xlsx else sheets.make
    files = make(running.folder(book), out)
    running.emit({"files": files}, as_json, lambda: "\n".join(map(str, files)))


def serve(
    book: BookFolder,
    lan: Annotated[bool, typer.Option("--lan", help="Let phones on the home network in, by a one-time link.")] = False,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="0: any free one.")] = 8765,
    idle: Annotated[float, typer.Option("--idle", min=0.1, help="Stop after so many quiet minutes.")] = 120.0,
    today: Today = None,
) -> None:
    """Show the report and the entry forms in a browser, for the phone at the melter."""
    from pipeline.recording import form

    form.serve(running.folder(book), today, lan=lan, port=port, idle_min=idle, say=lambda t: typer.echo(t, err=True))


def _log(kind: str | None) -> Log:
    from pipeline.recording import entry

    log = entry.log_named(kind or "")
    if log is None:
        running.stop(f"{kind or 'nothing'} is no kind of row; use one of: {', '.join(entry.KINDS)}", running.WRONG_USE)
    return log


def _pairs(cells: list[str]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for cell in cells:
        name, equals, value = cell.partition("=")
        if not equals or not name.strip():
            running.stop(f"{cell} is not COLUMN=VALUE, such as mass='5 lb 4 oz'", running.WRONG_USE)
        if name.strip() in pairs:
            running.stop(f"{name.strip()} is given twice", running.WRONG_USE)
        pairs[name.strip()] = value
    return pairs


def _rows_from(folder: Path, source: str) -> dict[str, list[dict[str, str]]]:
    from pipeline.recording import sources

    if source != "-" and not Path(source).is_file():
        running.stop(f"{source} is not a file", running.WRONG_USE)
    rows = sources.workbook(folder, Path(source)) if source.lower().endswith(".xlsx") else sources.document(source)
    if isinstance(rows, str):
        running.stop(rows, running.WRONG_USE)
    return rows


def _recorded(folder: Path, rows: Any, what: str) -> Outcome:
    from pipeline.recording import entry

    return entry.record(folder, rows, what)


def _asked(folder: Path, kind: str | None, today: date, as_json: bool) -> None:
    from pipeline.recording import prompts

    if kind != "session":
        _log(kind)
    if not sys.stdin.isatty():
        running.stop("nothing to record: give COLUMN=VALUE or --from FILE, or run it on a terminal", running.WRONG_USE)
    outcome = prompts.run(folder, str(kind), today)
    if outcome is not None:
        _tell(outcome, as_json)


def _tell(outcome: Outcome, as_json: bool) -> None:
    """Print where the rows went, or what was refused (then exit 1)."""
    from pipeline.recording import entry

    for finding in outcome.findings:
        typer.echo(f"{finding.severity}: {entry.told(finding)}", err=True)
    for sentence in outcome.said:
        typer.echo(sentence, err=True)
    written = [{"log": w.log, "line": w.line} for w in outcome.written]
    changed = [{"log": c.log, "line": c.line, "column": c.column, "from": c.old, "to": c.new} for c in outcome.changed]
    usage = {"unknown-column", "unknown-log", "no-such-row"}
    if outcome.refused:
        wrong = any(f.rule in usage for f in outcome.findings)
        running.stop("nothing was written", running.WRONG_USE if wrong else running.BOOK_HAS_ERRORS)
    lines = [f"{w.log} line {w.line} written" for w in outcome.written]
    lines += [
        f"{c.log} line {c.line}, {c.column}: {c.old or 'empty'} is now {c.new or 'empty'}" for c in outcome.changed
    ]
    data = {"changed": changed} if outcome.changed or not outcome.written else {"written": written}
    running.emit(data, as_json, lambda: "\n".join(lines) or "nothing to change: the cells say that already")
