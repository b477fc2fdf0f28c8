"""What goes to a terminal: nothing that steers it, and a colour for errors, warnings and notes."""

from __future__ import annotations

import os
import sys

import typer

from pipeline.wording import visible_text


def say(text: str, err: bool = False) -> None:
    """Print for people. What would steer the terminal is made visible; on a terminal a severity before a line is coloured.

    The one way out to a terminal, so that no cell, name or file can send it more than text.
    """
    shown = visible_text.lines(text)
    coloured = (sys.stderr if err else sys.stdout).isatty() and not os.environ.get("NO_COLOR")  # https://no-color.org
    typer.echo("\n".join(map(_coloured, shown.split("\n"))) if coloured else shown, err=err)


def _coloured(line: str) -> str:
    word, colon, rest = line.partition(":")
    return typer.style(word, fg=_COLOURS[word]) + colon + rest if word in _COLOURS else line


_COLOURS = {"error": "red", "warning": "yellow", "note": "cyan"}
"""A colour says nothing that the word before the colon does not say."""
