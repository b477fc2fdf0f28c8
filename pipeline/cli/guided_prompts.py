"""What a guided recording asks and says on a terminal; all of it on stderr, as stdout is for what was written."""

from __future__ import annotations

import shutil
import sys
import textwrap

import typer

from pipeline.cli import terminal_output
from pipeline.recording import answers_so_far
from pipeline.wording import visible_text


def ask(prompt: str) -> str:
    """The line typed behind a prompt; raises EOFError where none comes any more."""
    typer.echo(visible_text.lines(_wrapped(prompt.rstrip())) + " ", nl=False, err=True)
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line.rstrip("\r\n")


def say(text: str) -> None:
    """Show lines."""
    terminal_output.say("\n".join(map(_wrapped, text.split("\n"))), err=True)


def agreed(question: str, usual: str) -> bool:
    """Whether whoever sits at the terminal says yes; who goes away has not."""
    try:
        return answers_so_far.agreed(question, usual, ask, say)
    except (EOFError, KeyboardInterrupt):
        say("")
        return False


def _wrapped(line: str) -> str:
    """A line broken between words where the terminal ends, its rest moved in."""
    margin = " " * (len(line) - len(line.lstrip()) + 2)
    width = shutil.get_terminal_size().columns
    return textwrap.fill(line, width, subsequent_indent=margin, break_on_hyphens=False, break_long_words=False)
