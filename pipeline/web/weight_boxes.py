"""A weight on the phone: one box, or one for pounds and one for ounces, and the vessel that stood on the scale with it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from pipeline.book.book_settings import Book
from pipeline.contract.columns import Column
from pipeline.contract.quantities import read_number
from pipeline.recording.answers_so_far import with_unit
from pipeline.recording.offers import Offers

OUNCES, VESSEL = ".oz", ".vessel"
"""What is put behind a field's name for its second box, and for the vessel."""
_DIGITS_MEANT = re.compile(r"(?=.*\d)[\dOoIl.,]+")
_PAIR = re.compile(r"(?:(?P<lb>[\d.,½¼¾]+) lb)? ?(?:(?P<oz>[\d.,½¼¾]+) oz)?")


@dataclass(frozen=True, slots=True)
class Boxes:
    """What stands in the boxes of one weight: the weight or its pounds, the ounces, the vessel (each may be empty)."""

    weight: str
    ounces: str = ""
    vessel: str = ""


def has_two_boxes(book: Book) -> bool:
    """Whether the book tells weights in pounds and ounces, which a keypad of digits cannot type in one box."""
    return book.show.mass == "lb oz"


def in_boxes(text: str, book: Book) -> Boxes:
    """An answer parted into the boxes that it was typed into; what has another form stands in the first."""
    weight, _, behind = text.rpartition(" - ")
    vessel = next((name for name in book.vessels if name.casefold() == behind.strip().casefold()), "")
    rest = weight if vessel else text
    pair = _PAIR.fullmatch(rest) if has_two_boxes(book) else None
    return Boxes(pair["lb"] or "", pair["oz"] or "", vessel) if pair else Boxes(rest, "", vessel)


def as_typed(name: str, typed: Mapping[str, str]) -> Boxes:
    """What was sent for the field of that name."""
    return Boxes(*(typed.get(f"{name}{ending}", "").strip() for ending in ("", OUNCES, VESSEL)))


def as_answer(boxes: Boxes, column: Column, offers: Offers) -> str:
    """What the boxes say, as somebody would have typed it in one: ``10 lb 6 oz - crock``."""
    parts = [(boxes.weight, "lb"), (boxes.ounces, "oz")] if has_two_boxes(offers.book) else [(boxes.weight, "")]
    weight = " ".join(f"{text} {unit}".strip() if _is_bare(text) else text for text, unit in parts if text)
    return f"{with_unit(offers, column, weight)} - {boxes.vessel}".strip() if boxes.vessel else weight


def _is_bare(text: str) -> bool:
    """Whether a box holds a number alone, also one with a letter typed for a digit, which is told as such."""
    return isinstance(read_number(text), Fraction) or _DIGITS_MEANT.fullmatch(text) is not None
