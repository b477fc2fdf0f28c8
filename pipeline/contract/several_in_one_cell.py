"""Several hives or flaws in one cell: how they are told apart, by the same patterns in Python and in the database."""

from __future__ import annotations

import re
from typing import Final

from pipeline.contract.columns import JOINED

_OTHERWISE: Final = r"[,;&]|\band\b|\S\+|\+\S"
"""What parts hives in the writing of people, where a log has `` + ``; a name has no such mark in it."""
_BETWEEN: Final = r"[,;&+]|\band\b"
_PLURAL: Final = "s$"
_AMERICAN, _BRITISH = "center", "centre"

MACROS: Final = (
    f"CREATE MACRO hives_meant(cell) AS if(regexp_matches(cell, '{_OTHERWISE}'), list_filter(list_transform("
    f"regexp_split_to_array(cell, '{_BETWEEN}'), lambda x: trim(x)), lambda x: x <> ''), []);"
    f"CREATE MACRO flaw_stem(word) AS replace(regexp_replace(lower(word), '{_PLURAL}', ''), '{_AMERICAN}', '{_BRITISH}');"
)
"""The two functions of this module for queries."""


def hives_meant(cell: str) -> list[str]:
    """The hives that a cell seems to name, where they are parted otherwise than by `` + ``; nothing where they are not."""
    if not re.search(_OTHERWISE, cell, re.ASCII):
        return []
    return [name for part in re.split(_BETWEEN, cell, flags=re.ASCII) if (name := part.strip())]


def joined(names: list[str]) -> str:
    """Several names in one cell, as the logs have them."""
    return JOINED.join(names)


def flaw_stem(word: str) -> str:
    """A flaw's word without what does not tell it apart: capitals, the plural, the American spelling."""
    return re.sub(_PLURAL, "", word.lower()).replace(_AMERICAN, _BRITISH)
