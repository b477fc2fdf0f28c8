"""A new book: its settings and every log with its header, or a copy of the demo."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.book import book_toml
from pipeline.book.book_settings import TOML, read_book
from pipeline.contract import shipped_files
from pipeline.contract.log_columns import LOGS
from pipeline.recording.log_layout import header_name


@dataclass(frozen=True, slots=True)
class NewBookQuestion:
    """What is asked of somebody who starts a book; ``in_pounds`` is what is usual where weights are in lb or oz."""

    key: str
    words: str
    usual: str
    in_pounds: str


QUESTIONS = (
    NewBookQuestion("mass", "Weights in g, kg, oz or lb", "kg", "lb"),
    NewBookQuestion("length", "Lengths in mm or in", "mm", "in"),
    NewBookQuestion("temperature", "Temperatures in C or F", "C", "F"),
    NewBookQuestion("currency", "Money, as three letters", "EUR", "USD"),
    NewBookQuestion("season_starts", "A season begins on month-day", "01-01", "01-01"),
)
"""What decides the units of every header, and cannot be read off the logs."""

_SETTINGS = """\
name = {name}
season_starts = {season_starts}      # month-day on which a season begins
currency = {currency}
dates = "iso"                # or "day-first", "month-first", where the logs have them so

[show]                       # units for people
mass = {mass}                  # g, kg, oz or lb
length = {length}                # mm or in
temperature = {temperature}            # C or F

[scale]
step_g = 5                   # the smallest step that your scale shows
relative = 0.001             # and how far it may be off, as a share of the reading
"""


def taken(folder: Path) -> str | None:
    """The first file of a book that the folder holds already; None where a book can be started there."""
    return next((name for name in (TOML, *(log.file for log in LOGS.values())) if (folder / name).exists()), None)


def usual(question: NewBookQuestion, answers: Mapping[str, str]) -> str:
    """What most people answer who answered so far as these did."""
    return question.in_pounds if answers.get("mass") in ("lb", "oz") else question.usual


def wrong(key: str, answer: str) -> str | None:
    """Why a setting cannot be what was answered, as a sentence; None where it can."""
    _, complaints = book_toml.checked(tomllib.loads(_settings({"name": "any", key: answer})))
    return complaints[0].message if complaints else None


def book(folder: Path, answers: Mapping[str, str]) -> list[str]:
    """Start an empty book in a folder that is not ``taken``, and give the files made.

    ``answers`` holds the name, and what else was asked; the headers carry the units that were answered, so that a
    bare number in a log means what it means in a guided recording.
    """
    made = _write(folder, {TOML: _settings(answers)})
    started, _ = read_book(folder)
    headers = {log.file: ",".join(header_name(started, c) for c in log.columns) + "\n" for log in LOGS.values()}
    return made + _write(folder, headers)


def _settings(answers: Mapping[str, str]) -> str:
    """The text of book.toml; what was not answered is as usual."""
    told = {q.key: q.usual for q in QUESTIONS} | dict(answers)
    return _SETTINGS.format(**{key: json.dumps(value, ensure_ascii=False) for key, value in told.items()})


def demo(folder: Path) -> list[str]:
    """Copy the demo book into a folder that is not ``taken``, and give the files made."""
    kept = [f for f in sorted(shipped_files.path("demo").iterdir()) if f.suffix in (".csv", ".toml", ".md")]
    return _write(folder, {f.name: f.read_text("utf-8") for f in kept})


def _write(folder: Path, texts: dict[str, str]) -> list[str]:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8", newline="")
    return list(texts)
