"""Cautions in words: why this book gives a reason for them, and what to do."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.answers.cautions_due import Care
from pipeline.wording.amounts import PAGE
from pipeline.wording.visible_text import capital

_WHY = {
    "foulbrood": "disease is written down", "treatments": "a treatment is written down",
    "darkening": "wax got hotter than it should", "water": "the wax turned grey or would not part from the water",
    "metal": "a vessel's metal is written down",
}  # fmt: skip

METHOD = (
    "Shown once each, where a hold, a note or a temperature in the logs gives a reason. Words are looked for, so a note that "
    "says a thing did not happen is taken for one that says it did. Your bee inspector and local rules come before this page."
)


def sentence(found: Sequence[Care]) -> str:
    """How many things to mind."""
    return f"The logs give a reason for {PAGE.plural(len(found), 'caution')}."


def point(care: Care) -> str:
    """Why, where, and what to do."""
    more = f" and {care.rows - 1} more" if care.rows > 1 else ""
    return f"{capital(_WHY[care.caution])} ({care.log}.csv line {care.line}{more}): {care.says} ({care.source})."
