"""Which line of a log holds its column names, and what is said of lines that stand above them."""

from __future__ import annotations

from collections.abc import Callable

from pipeline.contract.quantities import Refusal

KnownNames = Callable[[list[str]], int]
"""How many of a record's cells are column names of the log."""


def header_among(found: list[tuple[int, list[str]]], known: KnownNames) -> tuple[int, int, list[str]]:
    """The header's line, how many lines stand above it that should not, and its cells."""
    counts = [known(cells) for _, cells in found]
    best = counts.index(max(counts))
    if best and counts[best] >= max(2, 2 * counts[0]):
        line, cells = found[best]
        return line, line - 1, cells
    return found[0][0], 0, found[0][1]


def title_rows(before: int, header: list[str]) -> Refusal:
    """Why a file with ``before`` lines above its column names is not read."""
    names = ", ".join(cell for cell in header if cell)[:80]
    above = "line 1 holds" if before == 1 else f"lines 1 to {before} hold"
    reason = f"the column names ({names}) stand on line {before + 1}; {above} something else"
    return Refusal("header-not-first", reason, "delete what stands above the column names")
