"""The commands that write into the logs: record, change, remove, undo, sheet, serve."""

from __future__ import annotations

import dataclasses
import functools
import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from pipeline.book.book_settings import REPORTS
from pipeline.cli import exit_codes, running, terminal_output
from pipeline.cli.options import BookFolder, Json, Today
from pipeline.wording.command_lines import command_line

if TYPE_CHECKING:
    from pipeline.contract.columns import Log
    from pipeline.recording.record_and_undo import Changed, Outcome, Written

T = TypeVar("T")
_WORDS = 4  # cells by which a row is known again
Yes = Annotated[bool, typer.Option("--yes", help="Write it although warnings are told.")]
Kind = Annotated[str, typer.Argument(metavar="KIND", help="What the row is: harvest, pass, batch …")]
Key = Annotated[str, typer.Argument(metavar="KEY", help="The row's name (parts joined by /) or its line.")]
Cells = Annotated[list[str] | None, typer.Argument(metavar="COLUMN=VALUE …", help="Cells; a value may carry its unit.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (record, change, remove, undo, sheet, serve):
        app.command()(command)


def record(
    book: BookFolder,
    kind: Annotated[str | None, typer.Argument(metavar="KIND", help="harvest, load, pass, block … or session.")] = None,
    cells: Cells = None,
    from_file: Annotated[str | None, typer.Option("--from", help="A JSON or XLSX file of rows, or - for JSON.")] = None,
    yes: Yes = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Add rows to the logs; without cells, ask. All rows are written, or none."""
    folder, day = running.folder(book), today or date.today()
    if from_file is not None:
        _told(_answered(_from_a_file(folder, from_file, day), yes), as_json)
    elif cells:
        _told(_answered(_one_row(folder, _log(kind), cells, _in_words(kind, cells), day), yes), as_json)
    else:
        _asked(folder, kind, day, as_json)


def change(
    book: BookFolder,
    kind: Kind,
    key: Key,
    cells: Annotated[list[str], typer.Argument(metavar="COLUMN=VALUE …", help="The cells to change.")],
    yes: Yes = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Change cells of one row in place."""
    from pipeline.recording import row_change

    folder, log, pairs = running.folder(book), _log(kind), _pairs(cells)
    day = today or date.today()
    _told(_answered(lambda sure: row_change.change(folder, log, key, pairs, day, sure), yes), as_json, "changed")


def remove(
    book: BookFolder, kind: Kind, key: Key, yes: Yes = False, as_json: Json = False, today: Today = None
) -> None:
    """Take one row out of its log; undo brings it back."""
    from pipeline.recording import row_change

    folder, log, day = running.folder(book), _log(kind), today or date.today()
    _told(_answered(lambda sure: row_change.remove(folder, log, key, day, sure), yes), as_json, "removed")


def undo(
    book: BookFolder,
    show: Annotated[bool, typer.Option("--list", help="Show what can be taken back, and done again.")] = False,
    again: Annotated[bool, typer.Option("--again", help="Do again what was taken back last.")] = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Take the last recording, change or removal back: up to the last 100."""
    from pipeline.recording import record_and_undo

    folder = running.folder(book)
    if show:
        _list(folder, as_json)
    elif again:
        told = _turned(record_and_undo.redo(folder), folder, "done again", "; a new entry ends what could be")
        running.emit({"redone": told}, as_json, lambda: f"done again: {told}")
    else:
        mark = "" if as_json or not sys.stdin.isatty() else _asked_about(folder)
        told = _turned(record_and_undo.undo(folder, mark), folder, "taken back")
        running.emit({"undone": told}, as_json, lambda: f"taken back: {told}")


def _asked_about(folder: Path) -> str:
    """The mark of the entry that would be taken back, named with its time, where that is what was meant; else the end."""
    from pipeline.book.book_toml import read_book
    from pipeline.cli import guided_prompts
    from pipeline.recording import history, question_words
    from pipeline.wording.amounts import Units

    last = history.last(folder)
    if last is None:
        return ""
    when = question_words.moment(last.when, Units.of(read_book(folder)[0]))
    if not guided_prompts.agreed(f"{last.what}{when and f', made on {when}'}: take it back?", "yes"):
        running.stop("nothing was taken back", exit_codes.DONE)
    return last.mark


def _turned(what: str | list[str] | None, folder: Path, words: str, why: str = "") -> str:
    """What was taken back or done again; ends where nothing can be, or where a log would lose another change."""
    if what is None:
        running.stop(f"there is nothing that can be {words}{why}", exit_codes.WRONG_USE)
    if isinstance(what, list):
        change = command_line(folder, "change")
        told = (
            f"{' and '.join(what)} changed since, so that this would lose that change; put the row right with {change}"
        )
        running.stop(told, exit_codes.WRONG_USE)
    return what


def _list(folder: Path, as_json: bool) -> None:
    from pipeline.book.book_toml import read_book
    from pipeline.recording import history
    from pipeline.recording.question_words import moment
    from pipeline.wording.amounts import Units

    units = Units.of(read_book(folder)[0])
    undoable, again = history.listed(folder)
    lines, redo = ([f"  {moment(each.when, units)}  {each.what}" for each in held] for held in (undoable, again))
    told = [f"can be taken back, the next first (up to {history.REACH}):", *(lines or ["  nothing"])]
    told += ["can be done again:", *redo] if redo else []
    running.emit({"undoable": undoable, "again": again}, as_json, lambda: "\n".join(told))


def sheet(
    book: BookFolder,
    out: Annotated[Path | None, typer.Option("--out", help="Where the files go (default: BOOK/reports).")] = None,
    xlsx: Annotated[bool, typer.Option("--xlsx", help="A workbook to fill in instead of paper.")] = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Make a blank log sheet to print, or a workbook to fill in."""
    from pipeline.recording import fill_in_workbook, paper_sheet

    folder, to = running.folder(book), out or book / REPORTS
    files = fill_in_workbook.make(folder, to, today or date.today()) if xlsx else paper_sheet.make(folder, to)
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

    said = functools.partial(terminal_output.say, err=True)
    web.serve(web.Wish(running.folder(book), today, lan, port, idle, out or book / REPORTS, said))


def _log(kind: str | None) -> Log:
    from pipeline.recording import typed_rows

    log = typed_rows.log_named(kind or "")
    if log is None:
        kinds = ", ".join(("session", *typed_rows.KINDS))
        if kind == "session":
            told = "a session is rows of several logs: give them with --from FILE, or record it on a terminal"
            running.stop(told, exit_codes.WRONG_USE)
        none_of_these = f" ({kind} is none of these)" if kind else ""
        running.stop(f"Say what to record: {kinds}{none_of_these}", exit_codes.WRONG_USE)
    return log


def _in_words(kind: str | None, cells: Sequence[str]) -> str:
    """A row in a few words, by which ``undo`` names it: ``sale 7/15/25, taper, 2``."""
    values = [value for _, _, value in (cell.partition("=") for cell in cells[:_WORDS]) if value]
    return f"{kind} {', '.join(values)}"


def _pairs(cells: list[str]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for cell in cells:
        name, equals, value = cell.partition("=")
        if not equals or not name.strip():
            running.stop(f"{cell} is not COLUMN=VALUE, such as mass='5 lb 4 oz'", exit_codes.WRONG_USE)
        if name.strip() in pairs:
            running.stop(f"{name.strip()} is given twice", exit_codes.WRONG_USE)
        pairs[name.strip()] = value
    return pairs


Act = Callable[[bool], "Outcome"]
"""An entry that can be made; its argument says whether warnings were answered with yes."""


def _answered(act: Act, yes: bool) -> Outcome:
    """What an entry comes to; warnings are told and asked about where somebody sits at a terminal."""
    outcome = act(yes)
    if not outcome.asks or not sys.stdin.isatty():
        return outcome
    from pipeline.cli import guided_prompts

    _say_findings(outcome)
    if not guided_prompts.agreed("Save anyway?", "no"):
        return dataclasses.replace(outcome, findings=())
    return dataclasses.replace(act(True), findings=())


def _from_a_file(folder: Path, source: str, today: date) -> Act:
    from pipeline.recording import fill_in_workbook, json_rows

    if source != "-" and not Path(source).is_file():
        running.stop(f"{source} is not a file", exit_codes.WRONG_USE)
    if source.lower().endswith(".xlsx"):
        return lambda sure: _or_stop(fill_in_workbook.take_in(folder, Path(source), today, sure))
    return _recording(folder, _or_stop(json_rows.document(source)), f"rows from {source}", today)


def _or_stop(value: T | str) -> T:
    """What was read, or the end with the sentence that says why it was not."""
    if isinstance(value, str):
        running.stop(value, exit_codes.WRONG_USE)
    return value


def _one_row(folder: Path, log: Log, cells: list[str], what: str, today: date) -> Act:
    """A new row; of a batch that was planned its own row, with what was measured at the pour."""
    from pipeline.recording import poured_batch

    given = _pairs(cells)
    if log.name == poured_batch.BATCHES.name and poured_batch.was_planned(folder, given):
        return lambda sure: poured_batch.take_back(folder, given, today, sure)
    return _recording(folder, {log.name: [given]}, what, today)


def _recording(folder: Path, rows: Mapping[str, Sequence[Mapping[str, str]]], what: str, today: date) -> Act:
    from pipeline.recording import record_and_undo

    return lambda sure: record_and_undo.record(folder, rows, what, today, yes=sure)


def _asked(folder: Path, kind: str | None, today: date, as_json: bool) -> None:
    from pipeline.cli import guided_prompts
    from pipeline.recording import guided_terminal

    if kind != "session":
        _log(kind)
    if not sys.stdin.isatty():
        running.stop(
            "nothing to record: give COLUMN=VALUE or --from FILE, or run it on a terminal", exit_codes.WRONG_USE
        )
    outcome = guided_terminal.run(folder, str(kind), today, guided_prompts.ask, guided_prompts.say)
    if outcome is not None:
        _told(dataclasses.replace(outcome, findings=(), said=()), as_json)


def _say_findings(outcome: Outcome) -> None:
    for finding in outcome.findings:
        terminal_output.say(f"{finding.severity}: {finding.sentence()}", err=True)


_NOT_KNOWN = ("unknown-column", "unknown-log", "no-such-row")
"""Findings of a command that named something that there is not: wrong use, no error of the book."""


def _told(outcome: Outcome, as_json: bool, what: str = "written") -> None:
    """Print where the rows went; exit 1 where nothing was written, 2 where a name was not known."""
    _say_findings(outcome)
    for sentence in outcome.said:
        terminal_output.say(sentence, err=True)
    rows: Sequence[Written | Changed] = getattr(outcome, what)
    problems = [finding.as_dict() for finding in outcome.findings]
    stopped = outcome.refused or outcome.asks
    if as_json or not stopped:  # what stopped it is said once, below
        told = "\n".join(f"{what}: {row.told()}" for row in rows) or f"nothing was {what}"
        running.emit({what: rows, "problems": problems}, as_json, lambda: told)
    if stopped:
        wrong = any(f.rule in _NOT_KNOWN for f in outcome.findings)
        hint = "; --yes writes it as it is" if outcome.asks else ""
        running.stop(f"nothing was {what}{hint}", exit_codes.WRONG_USE if wrong else exit_codes.BOOK_HAS_ERRORS)
