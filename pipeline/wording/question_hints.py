"""What helps with a question, as a value, and said for its place: at a prompt by keys, on a page by a field."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

EMPTY: Final = "-"
"""Typed at a prompt, it leaves empty what Enter would fill with what is offered."""


@dataclass(frozen=True, slots=True)
class Hint:
    """``asks``: what is asked; ``if_empty``: what no answer means; ``empty_if``: when none is given; ``free``: a name to take."""

    asks: str = ""
    if_empty: str = ""
    empty_if: str = ""
    free: str = ""


NO_HINT: Final = Hint()


def for_keys(hint: Hint, offered: bool) -> str:
    """A hint at a prompt. ``offered``: Enter takes something, so that a dash leaves it empty."""
    key, press = (EMPTY, f"type {EMPTY}") if offered else ("Enter", "Enter")
    return "; ".join(_parts(hint, key, press))


def for_field(hint: Hint) -> str:
    """A hint on a page, where a field is left as it is."""
    return "; ".join(_parts(hint, "empty", "leave empty"))


def _parts(hint: Hint, left: str, leave: str) -> Iterator[str]:
    if hint.asks:
        yield hint.asks
    if hint.if_empty:
        yield f"{left}: {hint.if_empty}"
    if hint.empty_if:
        yield f"{leave} if {hint.empty_if}"
    if hint.free:
        yield f"{hint.free} is free"
