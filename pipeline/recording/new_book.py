"""A new book: its settings and every log with its header, or a copy of the demo."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import count
from pathlib import Path

from pipeline.book import allowed_settings
from pipeline.book.book_settings import TOML
from pipeline.book.book_toml import read_book
from pipeline.contract import shipped_files
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import unit_spelled
from pipeline.recording.log_layout import header_name


@dataclass(frozen=True, slots=True)
class NewBookQuestion:
    """What is asked of somebody who starts a book; ``usual`` is offered, ``in_pounds`` where weights are in lb or oz."""

    key: str
    words: str
    usual: str
    in_pounds: str


_QUESTIONS = (
    NewBookQuestion("mass", "Weights in g, kg, oz, lb, or lb oz (as 7 lb 2 oz)", "kg", "lb"),
    NewBookQuestion("length", "Lengths in mm or in", "mm", "in"),
    NewBookQuestion("temperature", "Temperatures in C or F", "C", "F"),
    NewBookQuestion("currency", "Money, as three letters", "EUR", "USD"),
    NewBookQuestion("dates", "Dates: iso (2025-08-14), day-first (14/8) or month-first (8/14)", "iso", "iso"),
    NewBookQuestion("season_starts", "A season begins on month-day", "01-01", "01-01"),
    NewBookQuestion("step", "The smallest step that your scale shows, with its unit", "5 g", "0.1 oz"),
)
"""What decides how the logs are read and told, and cannot be read off them."""
_POUNDS = ("lb", "oz", "lb oz")
_VESSEL = "vessel "
_BACK = "<"
_MONTH_FIRST = ("USD",)  # money of countries that write the month first: common practice, no source

_SETTINGS = """\
name = {name}
season_starts = {season_starts}      # month-day on which a season begins
currency = {currency}
dates = {dates}                # the order of dates in the logs: iso, day-first or month-first; iso is read always

[show]                       # units for people
mass = {mass}                  # g, kg, oz, lb, or lb oz
length = {length}                # mm or in
temperature = {temperature}            # C or F

[scale]
step = {step}                 # the smallest step that your scale shows, with its unit
relative = 0.001             # and how far it may be off, as a share of the reading

[vessels]                    # empty weights of pots that are weighed with, such as "crock" = "2 lb 2 oz"
{vessels}"""


@dataclass(frozen=True, slots=True)
class NewBookAnswers:
    """What was answered so far, in order, and what was stepped back over and is offered again."""

    given: Mapping[str, str] = field(default_factory=dict)
    before: Mapping[str, str] = field(default_factory=dict)

    def answered(self, key: str, answer: str) -> NewBookAnswers:
        """With one answer more; ``<`` takes the last one away."""
        if answer != _BACK:
            return NewBookAnswers({**self.given, key: tidied(key, answer)}, self.before)
        *kept, last = self.given.items() or [("", "")]
        return NewBookAnswers(dict(kept), {**self.before, last[0]: last[1]})


def next_question(answers: NewBookAnswers, known: Mapping[str, str], folder: str) -> NewBookQuestion | None:
    """The first question that is answered neither here nor by what is ``known``, with what is offered; None: no more.

    Pots are asked for one by one, until one is left empty.
    """
    for question in _questions(answers.given, folder):
        if question.key not in {**answers.given, **known}:
            offer = answers.before.get(question.key, _usual(question, answers.given))
            return replace(question, usual=offer)
    return None


def _questions(given: Mapping[str, str], folder: str) -> Iterator[NewBookQuestion]:
    yield NewBookQuestion("name", "Whose book is it", folder, folder)
    yield from _QUESTIONS
    for n in count(1):
        key = f"{_VESSEL}{n}"
        example = "crock = 2 lb 2 oz" if given.get("mass") in _POUNDS else "crock = 950 g"
        yield NewBookQuestion(
            key, f"A pot that you weigh with, as {example} (Enter: {'none' if n == 1 else 'no more'})", "", ""
        )
        if not given.get(key):
            return


def _usual(question: NewBookQuestion, given: Mapping[str, str]) -> str:
    """What most people answer who answered so far as these did."""
    if question.key == "dates" and given.get("currency") in _MONTH_FIRST:
        return "month-first"
    return question.in_pounds if given.get("mass") in _POUNDS else question.usual


def tidied(key: str, answer: str) -> str:
    """An answer as book.toml has it: ``pounds and ounces`` is ``lb oz``, ``°F`` is ``F``, ``usd`` is ``USD``."""
    if key == "currency":
        return answer.upper()
    if key not in ("mass", "length", "temperature"):
        return answer.lower() if key == "dates" else answer
    units = " ".join(unit_spelled(word) for word in re.split(r"[\s/,&+]+|\band\b", answer.lower()) if word)
    return units.upper() if key == "temperature" else units


def taken(folder: Path) -> str | None:
    """The first file of a book that the folder holds already; None where a book can be started there."""
    return next((name for name in (TOML, *(log.file for log in LOGS.values())) if (folder / name).exists()), None)


def wrong(key: str, answer: str) -> str | None:
    """Why a setting cannot be what was answered, as a sentence; None where it can."""
    if answer == _BACK or (key.startswith(_VESSEL) and not answer):
        return None
    if key.startswith(_VESSEL) and not all(_vessel(answer)):
        return "write its name and its empty weight, such as crock = 2 lb 2 oz or crock = 950 g"
    _, complaints = allowed_settings.checked(tomllib.loads(_settings({"name": "any", key: tidied(key, answer)})))
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
    told = {q.key: q.usual for q in _QUESTIONS} | {k: v for k, v in answers.items() if not k.startswith(_VESSEL)}
    pots = dict(_vessel(v) for k, v in answers.items() if k.startswith(_VESSEL) and v)
    lines = "".join(f"{_text(name)} = {_text(empty)}\n" for name, empty in pots.items())
    return _SETTINGS.format(**{key: _text(value) for key, value in told.items()}, vessels=lines)


def _vessel(answer: str) -> tuple[str, str]:
    """A pot's name and its empty weight, parted by an equals sign, or by where the weight begins."""
    parted = re.fullmatch(r"([^=]*)=(.*)", answer) or re.fullmatch(r"(.*?)(?<![\w.,])(\d.*)", answer)
    name, empty = parted.groups() if parted else (answer, "")
    return name.strip(" :"), empty.strip()


def _text(value: str) -> str:
    return json.dumps(value, ensure_ascii=False)


def demo(folder: Path) -> list[str]:
    """Copy the demo book into a folder that is not ``taken``, and give the files made."""
    kept = [f for f in sorted(shipped_files.path("demo").iterdir()) if f.suffix in (".csv", ".toml", ".md")]
    return _write(folder, {f.name: f.read_text("utf-8") for f in kept})


def _write(folder: Path, texts: dict[str, str]) -> list[str]:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8", newline="")
    return list(texts)
