"""What every command does: opening a book, printing JSON or a table, ending with an exit code."""

from __future__ import annotations

import json
import os
import sys
import textwrap
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import typer

from pipeline.cli import exit_codes
from pipeline.cli.terminal_output import say
from pipeline.contract.findings import Finding, MachineFault, Severity
from pipeline.wording import visible_text
from pipeline.wording.amounts import Units
from pipeline.wording.command_lines import command_line

if TYPE_CHECKING:
    from pipeline.flow import Loaded


@contextmanager
def faults_told() -> Iterator[None]:
    """Turn what the machine cannot do into one sentence and exit 3."""
    try:
        yield
    except MachineFault as fault:
        stop(str(fault), exit_codes.MACHINE_FAILED)
    except BrokenPipeError:
        sys.stderr.close()  # the reader of our output has left; there is nobody to tell
        sys.exit(exit_codes.DONE)
    except OSError as fault:
        stop(f"{fault.strerror or fault}{f': {fault.filename}' if fault.filename else ''}", exit_codes.MACHINE_FAILED)
    except MemoryError:
        stop("there is not enough memory for this book", exit_codes.MACHINE_FAILED)


def stop(sentence: str, code: int) -> NoReturn:
    """Say one sentence on stderr and end with that exit code."""
    say(sentence, err=True)
    sys.exit(code)


def no_batch(loaded: Loaded, batch: str) -> NoReturn:
    """End where the book has no batch of that name, with those of names alike."""
    from pipeline.answers.pour import names_like
    from pipeline.wording.pour_sentences import unknown

    stop(unknown(names_like(loaded, batch), batch), exit_codes.WRONG_USE)


def folder(book: Path) -> Path:
    """The book's folder, an interrupted recording in it finished first; wrong use where there is none."""
    from pipeline.recording.durable_files import may_be_unfinished

    if not book.is_dir():
        stop(f"{book} is not a folder; start a book with: {command_line(book, 'new')}", exit_codes.WRONG_USE)
    fit_for_a_book(book)
    if may_be_unfinished(book):
        from pipeline.recording import journal

        journal.recover(book)
    return book


def fit_for_a_book(place: Path) -> None:
    """End where the database can open no file in a folder because of its name, or where it is a link to nothing."""
    if place.is_symlink() and not place.exists():
        stop(f"{place} is a link that leads nowhere", exit_codes.WRONG_USE)
    if wrong := _unfit(os.path.realpath(place)):
        stop(f"{place}: the folder's name {wrong}; give it, or the one it lies in, another name", exit_codes.WRONG_USE)


def _unfit(path: str) -> str:
    """What a folder's path has that the database cannot open, told of its name; empty where there is nothing."""
    try:
        path.encode()
    except UnicodeEncodeError:
        return "is not UTF-8 text"
    # the database takes \ for another /, and a ? for the end of a file's name; on Windows no name can hold either
    odd = next((mark for mark in "\\?" if mark in path), "") if os.sep == "/" else ""
    return f"has a {odd} in it" if odd else ""


@contextmanager
def progress(what: str) -> Iterator[None]:
    """Say on a terminal what is going on, once it has taken a second."""
    timer = threading.Timer(1.0, lambda: say(f"{what} …", err=True))
    timer.daemon = True
    if sys.stderr.isatty():
        timer.start()
    try:
        yield
    finally:
        timer.cancel()


def opened(book: Path, today: date | None, leave_out: bool, on: date | None = None, anew: bool = False) -> Loaded:
    """The book's figures, worked out ``anew`` where they shall be changed; ends with exit 1 where it has errors."""
    from pipeline import flow

    day = today or date.today()
    with progress(f"reading {book}"):
        loaded = flow.load(folder(book), day) if anew else flow.opened(folder(book), day, on)
    return usable(loaded, leave_out)


def usable(loaded: Loaded, leave_out: bool) -> Loaded:
    """The same, with what was left out told; ends with exit 1 where it has errors and nothing may be left out."""
    if loaded.blocked:
        errors = [f for f in loaded.findings if f.severity is Severity.ERROR]
        if not leave_out:
            many = "an error" if len(errors) == 1 else f"{len(errors)} errors, of which the first"
            stop(
                f"the book has {many}: {errors[0].sentence()}. Run {command_line(loaded.book.folder, 'check')}, "
                "or go on without those rows with --leave-out",
                exit_codes.BOOK_HAS_ERRORS,
            )
        say(left_out_sentence(loaded), err=True)
    return loaded


def left_out_sentence(loaded: Loaded) -> str:
    """What was left out and how many grams."""
    units = Units.of(loaded.book)
    parts = [
        f"{o.rows} of {loaded.rows[o.log]} rows of {o.log}" + (f" ({units.mass(o.mass_g)})" if o.mass_g else "")
        for o in loaded.left_out
    ]
    return "left out: " + (", ".join(parts) if parts else "nothing but the settings named by check")


def emit(data: Any, as_json: bool, table: Callable[[], str]) -> None:
    """Print the JSON document, or what ``table`` gives for people."""
    _show(printed(data, as_json, table), as_json)


def printed(data: Any, as_json: bool, table: Callable[[], str]) -> str:
    """The JSON document, or what ``table`` gives for people."""
    from pipeline.answers.as_json import as_json as in_json

    if as_json:
        return visible_text.for_json(json.dumps(in_json(data), ensure_ascii=False, indent=1))
    return table()


def emit_kept(loaded: Loaded, question: tuple[object, ...], as_json: bool, answer: Callable[[], str]) -> None:
    """Print an answer that takes long to find: as it is kept in the book's folder, else found now and kept."""
    from pipeline.database.text_cache import KeptTexts, digest_of

    if loaded.origin is None or loaded.blocked:  # a book with errors keeps nothing
        return _show(answer(), as_json)
    kept, key = KeptTexts(loaded.book.folder, "answers"), digest_of(loaded.origin.key, *map(repr, (*question, as_json)))
    text = kept.get(key)
    if text is None:
        text = answer()
        if loaded.origin.holds():  # else the answer may be of other logs than were hashed
            kept.put(key, text)
    return _show(text, as_json)


def _show(text: str, as_json: bool) -> None:
    typer.echo(text) if as_json else say(text)


def told(findings: Sequence[Finding], book: Path, rules: bool = False) -> str:
    """The findings for people, and their count: wrapped on a terminal, one on a line for a pipe; with their rules if asked."""
    from pipeline.checks.rule_files import helping_commands

    helping = helping_commands() if findings else {}
    lines = [_finding(f, sys.stdout.isatty(), rules, _helps(f, book, helping)) for f in findings]
    counts = {s: sum(f.severity is s for f in findings) for s in Severity}
    summary = ", ".join(f"{n} {s}{'s' if n != 1 else ''}" for s, n in counts.items() if n)
    return "\n".join([*lines, summary or "No problems found."])


def _helps(f: Finding, book: Path, helping: Mapping[str, tuple[str, ...]]) -> str:
    """The command line that helps with a finding, with what stands before it."""
    name, *more = helping.get(f.rule) or ("",)
    return f": {command_line(book, name, *(word.format(line=f.line) for word in more))}" if name else ""


def _finding(f: Finding, on_terminal: bool, rules: bool, helps: str) -> str:
    line = f"{f.severity}: {f.sentence()}{helps}" + (f" [{f.rule}]" if rules else "")
    return textwrap.fill(line, 80, subsequent_indent="  ", break_on_hyphens=False) if on_terminal else line
