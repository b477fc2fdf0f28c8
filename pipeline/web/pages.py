"""Pages as text: questions become fields, everything from the book and the hand is escaped."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import jinja2

from pipeline.book.book_settings import Book
from pipeline.contract.columns import SUFFIXES, CellKind
from pipeline.recording.answers_so_far import Spot
from pipeline.recording.guided_questions import Question
from pipeline.web import weight_boxes
from pipeline.web.form_session import field_name
from pipeline.wording.question_hints import for_field

NAMES = {
    "session": "Rendering session", "harvest": "Harvest of comb", "block": "Block of wax", "stocktake": "Stocktake",
    "draw": "Draw of wax", "batch": "Batch of candles", "burn": "Test burn", "sale": "Sale of candles",
}  # fmt: skip
_NUMBERS = (*SUFFIXES, CellKind.NUMBER, CellKind.MONEY, CellKind.PERCENT)


@dataclass(frozen=True, slots=True)
class Field:
    """One question as a form shows it."""

    id: str
    name: str
    label: str
    value: str
    hint: str
    unit: str
    choices: tuple[str, ...]
    none: str
    free: bool
    typed: str
    type: str
    mode: str
    fault: str
    two_boxes: bool
    ounces: str
    vessels: tuple[str, ...]
    vessel: str


@cache
def _template() -> jinja2.Template:
    env = jinja2.Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined)
    return env.from_string(files("pipeline.web").joinpath("page.html").read_text("utf-8"))


@cache
def style() -> str:
    """The one style sheet."""
    return files("pipeline.web").joinpath("style.css").read_text("utf-8")


def page(view: str, title: str, book: str, **more: Any) -> str:
    """A whole page. ``view``: home, entry, review, open, saved, undo, discard or refused."""
    empty: dict[str, Any] = {
        "notice": "", "faults": [], "doubts": (), "of_weights": False, "cautions": (), "balance": (), "number": 0,
        "report": None, "names": NAMES,
    }  # fmt: skip
    return _template().render({**empty, **more, "view": view, "title": title, "book": book})


def _none(question: Question) -> str:
    """What leaving a choice open is called; empty where one must be made."""
    if question.required or question.column is None:
        return ""
    return "nothing more" if question.spot[2] == "source" else "not noted"


def field_id(question: Question) -> str:
    """The mark of a question's field on its page."""
    return field_name(question.spot).replace(".", "-")


def field(question: Question, typed: dict[str, str], faults: dict[Spot, str], book: Book) -> Field:
    """A question as a field, with what was typed before a fault, else with what is offered."""
    name, column = field_name(question.spot), question.column
    kind = column.kind if column else CellKind.CHOICE
    weighed = kind is CellKind.MASS
    boxes = weight_boxes.as_typed(name, typed) if name in typed else weight_boxes.in_boxes(question.offer, book)
    value = boxes.weight if weighed else typed.get(f"{name}.typed") or typed.get(name, question.offer)
    choices = ("yes", "no") if kind is CellKind.YES_NO else question.choices
    listed = next((c for c in choices if c.partition(" (")[0] == value), value) if choices else value
    number = "decimal" if kind in _NUMBERS else "numeric" if kind is CellKind.COUNT else ""
    return Field(
        id=field_id(question),
        name=name,
        label=question.label[:1].upper() + question.label[1:],
        value=listed,
        hint=for_field(question.hint),
        unit=question.unit,
        choices=choices,
        none=_none(question),
        free=kind is CellKind.ID,
        typed=value if choices and listed not in choices else "",
        type="date" if kind is CellKind.DATE else "text",
        mode=number,
        fault=faults.get(question.spot, ""),
        two_boxes=weighed and weight_boxes.has_two_boxes(book),
        ounces=boxes.ounces,
        vessels=tuple(book.vessels) if weighed else (),
        vessel=boxes.vessel,
    )
