"""The words that Britain and America spell in two ways, each once; the logs' own words and people's names stay as they are."""

from __future__ import annotations

from typing import Final

_AMERICAN: Final = {
    "colour": "color", "Colour": "Color", "mould": "mold", "grey": "gray", "centre": "center", "draughts": "drafts",
}  # fmt: skip


def american(text: str) -> str:
    """A sentence of ours as it is spelled in America."""
    for here, there in _AMERICAN.items():
        text = text.replace(here, there)
    return text
