"""The commands of the main job: new, check, build, yields, losses, flow, stock."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.book.book_settings import REPORTS
from pipeline.cli import exit_codes, running, terminal_output
from pipeline.cli.options import BookFolder, Json, LeaveOut, Today, day
from pipeline.cli.several_books import Books, by_group, grouped
from pipeline.wording.amounts import Units
from pipeline.wording.command_lines import command_line

if TYPE_CHECKING:
    from pipeline.flow import Loaded
    from pipeline.recording.new_book import NewBookQuestion

Reconciled = Annotated[
    bool, typer.Option("--reconciled", help="Use masses made to balance; weights that do not fit count as not weighed.")
]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (new, check, build, yields, losses, flow, stock):
        app.command()(command)


def _group(by: str | None, allowed: tuple[str, ...]) -> str:
    if by is not None and by not in allowed:
        raise typer.BadParameter(f"{by} is none of {', '.join(allowed)}", param_hint="--by")
    return by or "book"


def _reconciled(loaded: Loaded) -> Loaded:
    """The book, its masses made to balance."""
    from pipeline import flow
    from pipeline.answers import suspects

    loaded = flow.load(loaded.book.folder, loaded.today)  # what is kept in a file cannot be changed
    named = suspects.reconcile(loaded).suspects
    counted = f"; {len(named)} weights that do not fit count as not weighed" if named else ""
    terminal_output.say(f"reconciled: masses that balance in place of those weighed{counted}", err=True)
    return loaded


def new(
    book: BookFolder,
    demo: Annotated[bool, typer.Option("--demo", help="Fill it with the demo book.")] = False,
    name: Annotated[str | None, typer.Option("--name", help="The book's name.")] = None,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Start a book: its settings and every log with its header."""
    from pipeline.recording import new_book

    running.fit_for_a_book(book)
    if there := new_book.taken(book):
        running.stop(f"{book} holds a book already ({there} is there); nothing was written", exit_codes.WRONG_USE)
    files = new_book.demo(book) if demo else new_book.book(book, _answers(book, name))
    told = f"{book} is ready: {len(files)} files. Fill in the logs, then run: {command_line(book, 'build')}"
    running.emit({"book": book, "files": files}, as_json, lambda: told)


def _answers(book: Path, name: str | None) -> dict[str, str]:
    """What whoever starts a book says about it; where nobody sits at a terminal, only the name may come in."""
    from pipeline.recording import new_book

    folder = book.resolve().name
    if not sys.stdin.isatty():
        return {"name": name or sys.stdin.readline().strip() or folder}
    terminal_output.say("Enter takes what stands in [ ], < goes one question back.", err=True)
    known = {"name": name} if name else {}
    answers = new_book.NewBookAnswers()
    while question := new_book.next_question(answers, known, folder):
        answers = answers.answered(question.key, _answered(question))
    return {**known, **answers.given}


def _answered(question: NewBookQuestion) -> str:
    from pipeline.recording import new_book

    while True:
        shown = bool(question.usual)
        answer: str = typer.prompt(question.words, default=question.usual, show_default=shown, err=True).strip()
        fault = new_book.wrong(question.key, answer)
        if fault is None:
            return answer
        terminal_output.say(f"  {fault}", err=True)


def check(
    book: BookFolder,
    rules: Annotated[bool, typer.Option("--rules", help="Name the rule behind each problem.")] = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Check all logs and the rules across them."""
    from pipeline import flow
    from pipeline.answers import check
    from pipeline.recording import history

    with running.progress(f"checking {book}"):
        loaded = flow.opened(running.folder(book), today or date.today())
    loaded.findings[:0] = history.foreign(book)
    running.emit(check.check(loaded), as_json, lambda: running.told(loaded.findings, book, rules))
    if loaded.blocked:
        raise typer.Exit(exit_codes.BOOK_HAS_ERRORS)


def build(
    book: BookFolder,
    out: Annotated[Path | None, typer.Option("--out", help="Where the report goes (default: BOOK/reports).")] = None,
    charts: Annotated[Path | None, typer.Option("--charts", help="A folder for each picture as SVG and PNG.")] = None,
    pdf: Annotated[bool, typer.Option("--pdf", help="Print the report, through an installed Chromium.")] = False,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Check the logs and write the report. The database file is renewed, too."""
    from pipeline.report.build import Build

    with (
        Build(running.folder(book), out or book / REPORTS) as work,
        running.progress(f"building {book}"),
    ):
        loaded = running.usable(work.load(today or date.today()), leave_out)
        built = work.finish(loaded, charts, pdf)
    running.emit(
        built, as_json, lambda: f"{built.headline}\n{running.told(loaded.findings, book)}\nreport: {built.report}"
    )


def yields(
    books: Books,
    by: Annotated[
        str | None, typer.Option("--by", help="Group by season, method, comb, apiary, hive or session.")
    ] = None,
    reconciled: Reconciled = False,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show what share of the comb came out as wax. With its standard uncertainty."""
    from pipeline.answers import yields
    from pipeline.cli import tables_main

    group = _group(by, yields.GROUPS)
    if reconciled:
        found, units = grouped(books, today, leave_out, lambda book: yields.yields(_reconciled(book), group))
    else:
        found, units = by_group(yields.yields, yields.READS, group, books, today, leave_out)
    running.emit(found, as_json, lambda: tables_main.yields(found, units))


def losses(
    books: Books,
    by: Annotated[str | None, typer.Option("--by", help="Group by season, method, filter, comb or session.")] = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show what each pass lost, into residue and unaccounted for."""
    from pipeline.answers import losses
    from pipeline.cli import tables_main

    group = _group(by, losses.GROUPS)
    found, units = by_group(losses.losses, losses.READS, group, books, today, leave_out)
    running.emit(found, as_json, lambda: tables_main.losses(found, units))


def flow(
    books: Books,
    by: Annotated[str | None, typer.Option("--by", help="Group by season, method or session.")] = None,
    reconciled: Reconciled = False,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show where the wax went. All that was loaded, down to the gram."""
    from pipeline.answers import flow
    from pipeline.cli import tables_main

    group = _group(by, flow.GROUPS)
    if reconciled:
        found, units = grouped(books, today, leave_out, lambda book: flow.flow(_reconciled(book), group))
    else:
        found, units = by_group(flow.flow, flow.READS, group, books, today, leave_out)
    running.emit(found, as_json, lambda: tables_main.flow(found, units))


def stock(
    book: BookFolder,
    on: Annotated[
        date | None, typer.Option("--on", parser=str, callback=day, metavar="DATE", help="The day (default: today).")
    ] = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show what is on the shelf and what waits. Blocks, wax set aside, comb and candles."""
    from pipeline.answers import stock
    from pipeline.cli import tables_main

    loaded = running.opened(book, today, leave_out, on=on)
    shelf = stock.stock(loaded)
    running.emit(shelf, as_json, lambda: tables_main.stock(shelf, Units.of(loaded.book)))
