"""The commands that write into the logs: record, change, undo, sheet, serve."""

from __future__ import annotations

import functools
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.book.book_folder import REPORTS
from pipeline.cli import running
from pipeline.cli.running import BookFolder, Json, Today

if TYPE_CHECKING:
    from pipeline.contract.columns import Log
    from pipeline.recording.entry import Outcome

Cells = Annotated[list[str] | None, typer.Argument(metavar="COLUMN=VALUE …", help="Cells; a value may carry its unit.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (record, change, undo, sheet, serve):
        app.command()(command)


def record(
    book: BookFolder,
    kind: Annotated[str | None, typer.Argument(metavar="KIND", help="harvest, load, pass, block … or session.")] = None,
    cells: Cells = None,
    from_file: Annotated[str | None, typer.Option("--from", help="A JSON or XLSX file of rows, or - for JSON.")] = None,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Add rows to the logs; without cells, ask. All rows are written, or none."""
    folder = running.folder(book)
    if from_file is not None:
        _tell(_taken_in(folder, from_file), as_json)
    elif cells:
        _tell(_recorded(folder, {_log(kind).name: [_pairs(cells)]}, f"{kind} {cells[0]}"), as_json)
    else:
        _asked(folder, kind, today or date.today(), as_json)


def change(
    book: BookFolder,
    kind: Annotated[str, typer.Argument(metavar="KIND", help="What the row is: harvest, pass, batch …")],
    key: Annotated[str, typer.Argument(metavar="KEY", help="The row's name (parts joined by /) or its line.")],
    cells: Annotated[list[str], typer.Argument(metavar="COLUMN=VALUE …", help="The cells to change.")],
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Change cells of one row in place."""
    from pipeline.recording import row_change

    _tell(row_change.change(running.folder(book), _log(kind), key, _pairs(cells)), as_json, "changed")


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
    from pipeline.recording import paper_sheet, workbook

    folder, day = running.folder(book), today or date.today()
    files = workbook.make(folder, out, day) if xlsx else paper_sheet.make(folder, out)
    running.emit({"files": files}, as_json, lambda: "\n".join(map(str, files)))


def serve(
    book: BookFolder,
    lan: Annotated[bool, typer.Option("--lan", help="Let phones on the home network in, by a one-time link.")] = False,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="0: any free one.")] = 8765,
    out: Annotated[Path | None, typer.Option("--out", help="Where the report is (default: BOOK/reports).")] = None,
    idle: Annotated[float, typer.Option("--idle", min=0.1, help="Stop after so many quiet minutes.")] = 120.0,
    today: Today = None,
) -> None:
    """Show report and entry forms in a browser. For the phone at the melter."""
    from pipeline import web

    said = functools.partial(running.say, err=True)
    web.serve(web.Wish(running.folder(book), today, lan, port, idle, out or book / REPORTS, said))


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


def _taken_in(folder: Path, source: str) -> Outcome:
    from pipeline.recording import json_rows, workbook

    if source != "-" and not Path(source).is_file():
        running.stop(f"{source} is not a file", running.WRONG_USE)
    if source.lower().endswith(".xlsx"):
        taken = workbook.take_in(folder, Path(source))
    else:
        rows = json_rows.document(source)
        taken = rows if isinstance(rows, str) else _recorded(folder, rows, f"rows from {source}")
    if isinstance(taken, str):
        running.stop(taken, running.WRONG_USE)
    return taken


def _recorded(folder: Path, rows: Any, what: str) -> Outcome:
    from pipeline.recording import entry

    return entry.record(folder, rows, what)


def _asked(folder: Path, kind: str | None, today: date, as_json: bool) -> None:
    from pipeline.cli import guided_dialogue
    from pipeline.recording import guided_terminal

    if kind != "session":
        _log(kind)
    if not sys.stdin.isatty():
        running.stop("nothing to record: give COLUMN=VALUE or --from FILE, or run it on a terminal", running.WRONG_USE)
    outcome = guided_terminal.run(folder, str(kind), today, guided_dialogue.ask, guided_dialogue.say)
    if outcome is not None:
        _tell(outcome, as_json)


def _tell(outcome: Outcome, as_json: bool, what: str = "written") -> None:
    """Print where the rows went, or what was refused (then exit 1, or 2 where a name was not known)."""
    from pipeline.recording import entry

    for sentence in [*(f"{f.severity}: {entry.told(f)}" for f in outcome.findings), *outcome.said]:
        running.say(sentence, err=True)
    if outcome.refused:
        wrong = any(f.rule in ("unknown-column", "unknown-log", "no-such-row") for f in outcome.findings)
        running.stop("nothing was written", running.WRONG_USE if wrong else running.BOOK_HAS_ERRORS)
    rows = _rows(outcome)
    running.emit({what: rows[what]}, as_json, lambda: "\n".join(map(_row_told, rows[what])) or f"nothing was {what}")


def _rows(outcome: Outcome) -> dict[str, list[dict[str, Any]]]:
    written = [{"log": w.log, "line": w.line} for w in outcome.written]
    changed = [{"log": c.log, "line": c.line, "column": c.column, "from": c.old, "to": c.new} for c in outcome.changed]
    return {"written": written, "changed": changed}


def _row_told(row: dict[str, Any]) -> str:
    place = f"{row['log']} line {row['line']}"
    if "column" not in row:
        return f"{place} written"
    return f"{place}, {row['column']}: {row['from'] or 'empty'} is now {row['to'] or 'empty'}"
