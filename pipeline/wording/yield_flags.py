"""What the flags of a yield mean, said beside every table that has them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

_FLAGS: Final = {
    "slumgum": ("slumgum", "slumgum was pressed; its yield is of the slumgum loaded, whose comb is counted already"),
    "wax_loaded": ("wax added", "wax was loaded beside the comb; it is taken off both sides of the yield"),
    "set_aside": ("set aside", "wax not cast yet counts at full weight; the next melt will take a little of it"),
    "unweighed": ("not all weighed", "a load, a residue or the wax of a pass was not weighed"),
    "shared": ("even parts", "comb of several hives was weighed together, and each was given the same part of it"),
}


def words(flags: Iterable[str]) -> str:
    """The flags of one row, for a cell."""
    return ", ".join(_FLAGS[flag][0] for flag in flags)


def legend(rows: Iterable[Iterable[str]]) -> list[str]:
    """What each flag in these rows means, one line each."""
    used = {flag for flags in rows for flag in flags}
    return [f"{short}: {meaning}" for flag, (short, meaning) in _FLAGS.items() if flag in used]
