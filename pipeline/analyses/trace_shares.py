"""Where a thing's wax came from and where it went, as shares: one walk over links that each go one step back.

Molten wax mixes, so a share is of mass and every part of a thing holds all its sources alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

LEAVES = ("harvest", "block")
"""What a walk back may end in; anything else that it ends in is wax that nobody logged the source of."""


@dataclass(frozen=True, slots=True, order=True)
class Thing:
    """A harvest, session, slumgum, block, draw, batch or sale, by its name; ``unknown`` has none."""

    kind: str
    name: str | None


UNKNOWN = Thing("unknown", None)


@dataclass(frozen=True, slots=True)
class Link:
    """One step: the share (0-1) of a thing's wax that came from another."""

    thing: Thing
    source: Thing
    share: float


class LoopError(Exception):
    """Things that feed one another in a loop; ``names`` are the things in their order."""

    def __init__(self, names: list[Thing]) -> None:
        """Keep the loop."""
        super().__init__(" -> ".join(f"{t.kind} {t.name}" for t in names))
        self.names = names


def sources(start: Mapping[Thing, float], links: Iterable[Link]) -> dict[Thing, float]:
    """The shares in which the wax of ``start`` (things and their shares) came from harvests, bought blocks or nobody knows.

    ``links`` hold at least all steps back from ``start``. The shares sum to what ``start`` sums to. Raises LoopError.
    """
    links = list(links)
    of: dict[Thing, list[Link]] = {}
    for link in links:
        of.setdefault(link.thing, []).append(link)
    found = dict(start)
    ends: dict[Thing, float] = {}
    for thing in reversed(_in_order(links, start)):
        share = found.get(thing, 0.0)
        for link in of.get(thing, ()):
            found[link.source] = found.get(link.source, 0.0) + share * link.share
        if thing not in of and share:
            end = thing if thing.kind in LEAVES else UNKNOWN
            ends[end] = ends.get(end, 0.0) + share
    return ends


def reached(start: Mapping[Thing, float], links: Iterable[Link]) -> dict[Thing, float]:
    """The share of each thing's wax that came from ``start`` (things, and the share of them that is asked about).

    ``links`` hold at least all steps that lead to ``start``; the result leaves ``start`` itself out. Raises LoopError.
    """
    links = list(links)
    of: dict[Thing, list[Link]] = {}
    for link in links:
        of.setdefault(link.thing, []).append(link)
    found = dict(start)
    for thing in _in_order(links, start):
        if thing not in start and (
            share := sum(link.share * found.get(link.source, 0.0) for link in of.get(thing, ()))
        ):
            found[thing] = share
    return {thing: share for thing, share in found.items() if thing not in start}


def _in_order(links: Iterable[Link], start: Iterable[Thing]) -> list[Thing]:
    """All things so that each stands behind its sources; the same order every time. Raises LoopError."""
    before: dict[Thing, set[Thing]] = {thing: set() for thing in start}
    for link in links:
        before.setdefault(link.thing, set()).add(link.source)
    try:
        return list(TopologicalSorter({t: sorted(s, key=str) for t, s in before.items()}).static_order())
    except CycleError as fault:
        raise LoopError(fault.args[1]) from fault


@dataclass(frozen=True, slots=True)
class Way:
    """One way that wax took: where it began, where it was first melted, the block it was drawn from, and its share (0-1)."""

    begin: Thing
    melted: Thing | None
    block: Thing | None
    share: float


def ways(batch: Thing, links: Iterable[Link]) -> list[Way]:
    """The ways that a batch's wax took, those of one beginning, first melt and block as one, the largest first.

    ``links`` hold at least all steps back from ``batch``. Raises LoopError.
    """
    links = list(links)
    of: dict[Thing, list[Link]] = {}
    for link in links:
        of.setdefault(link.thing, []).append(link)
    begins: dict[Thing, dict[tuple[Thing, Thing | None], float]] = {}
    for thing in _in_order(links, (batch,)):
        if thing.kind not in ("draw", "batch"):
            begins[thing] = _begins(thing, of.get(thing, ()), begins)
    found: dict[tuple[Thing, Thing | None, Thing | None], float] = {}
    for drawn in of.get(batch, ()):
        for link in of.get(drawn.source, ()):
            for (begin, melted), share in begins[link.source].items():
                way = (begin, melted, link.source)
                found[way] = found.get(way, 0.0) + drawn.share * link.share * share
    return sorted((Way(*way, share) for way, share in found.items()), key=lambda w: (-w.share, str(w)))


def _begins(
    thing: Thing, links: Iterable[Link], begins: dict[Thing, dict[tuple[Thing, Thing | None], float]]
) -> dict[tuple[Thing, Thing | None], float]:
    """Where a thing's wax began and was first melted, with shares; the things behind it are worked out already."""
    found: dict[tuple[Thing, Thing | None], float] = {}
    for link in links:
        if link.source.kind in ("harvest", "unknown"):
            found[link.source, thing] = found.get((link.source, thing), 0.0) + link.share
        for way, share in begins.get(link.source, {}).items():
            if link.source.kind not in ("harvest", "unknown"):
                found[way] = found.get(way, 0.0) + link.share * share
    return found or {(thing if thing.kind in LEAVES else UNKNOWN, None): 1.0}
