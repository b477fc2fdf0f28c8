"""The shelf counted whole: the blocks on it, less what was taken off, are what was found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from pipeline.analyses.step_balance import Balance, Weight

_ALIKE = (("shelf",),)


class Move(NamedTuple):
    """What happened to a block, or to the whole shelf where ``block`` is None.

    ``kind``: cast, gone or counted, in that order within a day; ``emptied``: nothing was left of the block.
    """

    date: date
    kind: str
    row: int
    block: str | None
    weight: Weight
    emptied: bool = False


_ORDER = ("cast", "gone", "counted")


@dataclass
class _Shelf:
    """The weights that make up what is on the shelf since its last count, for or against; ``parts``: those of each block."""

    net: Counter[Weight] = field(default_factory=Counter)
    parts: dict[str, Counter[Weight]] = field(default_factory=dict)

    def add(self, block: str, weight: Weight, sign: int) -> None:
        self.net[weight] += sign
        self.parts.setdefault(block, Counter())[weight] += sign

    def clear(self, block: str) -> None:
        """A block counted or emptied: what was known of it before says nothing more about the shelf."""
        self.net.subtract(self.parts.pop(block, Counter()))


def shelf_balances(moves: Sequence[Move], unweighed_pours: Sequence[Any]) -> Iterator[Balance]:
    """A balance for each count of the whole shelf, from the count before it; none over a pour nobody weighed out."""
    shelf, before = _Shelf(), date.min
    for move in sorted(moves, key=lambda m: (m.date, _ORDER.index(m.kind), m.row)):
        if move.block is not None:
            _moved(shelf, move, move.block)
            continue
        if not any(before < day <= move.date for day in unweighed_pours):
            into, out = (tuple(w for w, n in shelf.net.items() if n == sign) for sign in (1, -1))
            yield Balance("shelf", str(move.date), into, (*out, move.weight), True, _ALIKE, None)
        shelf.net, before = Counter([move.weight]), move.date


def _moved(shelf: _Shelf, move: Move, block: str) -> None:
    if move.kind == "counted":
        shelf.clear(block)
    shelf.add(block, move.weight, -1 if move.kind == "gone" else 1)
    if move.emptied:
        shelf.clear(block)
