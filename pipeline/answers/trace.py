"""Where a thing's wax came from, up to the hive, and where it went, down to the sale and the shelf."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.analyses.trace_shares import Link, LoopError, Thing, Way, reached, sources, ways
from pipeline.answers.block_quality import Quality, of_block
from pipeline.answers.trace_links import links, put
from pipeline.flow import Loaded

TRACEABLE = ("harvest", "block", "session", "batch", "hive", "apiary", "sale")
"""What can be traced, by the word that stands before its name; a sale has its line for a name."""


@dataclass(frozen=True, slots=True)
class Origin:
    """One end of the walk back: a harvest, bought block or unknown; or the hive, apiary or supplier that these are from.

    ``share`` is of the thing's wax, 0-1. The flag ``shared``: several hives of one harvest were given even parts.
    """

    kind: str
    id: str | None
    share: float
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Destination:
    """What became of the thing's wax: its own wax in a session, block, draw, batch or sale (g), or still on the shelf.

    ``id`` of draws and sales is their line. ``mass_g`` is None where it cannot be known. Of a sale: ``count``, ``batch``.
    ``blocks``: what of it lies where on the shelf, g.
    """

    kind: str
    id: str | None
    mass_g: float | None
    date: date | None = None
    candle: str | None = None
    count: int | None = None
    blocks: tuple[tuple[str, float], ...] = ()
    batch: str | None = None


@dataclass(frozen=True, slots=True)
class Trace:
    """The answer for one thing: ``up`` what it is made of, ``down`` what was made of it.

    ``hold``: harvests behind it that are on hold, and why. ``quality``: of a block, its figures and the melts behind it.
    """

    kind: str
    id: str
    up: tuple[Origin, ...]
    down: tuple[Destination, ...]
    hold: tuple[tuple[str, str], ...] = ()
    quality: Quality | None = None


@dataclass(frozen=True, slots=True)
class NotFound:
    """A name that leads to nothing, or to several things: those are ``candidates``, by kind and name."""

    asked: str
    candidates: tuple[tuple[str, str], ...]


def trace(loaded: Loaded, asked: str) -> Trace | NotFound | LoopError:
    """The trace of what ``asked`` names: ``KIND NAME``, or a name that only one thing bears."""
    found = _named(loaded, asked)
    if isinstance(found, NotFound):
        return found
    kind, name = found
    start = _start(loaded, kind, name)
    back = () if kind in ("hive", "apiary") else links(loaded, "behind", start)
    try:
        up, hold = _up(loaded, kind, start, back)
        return Trace(kind, name, up, _down(loaded, kind, name, start), hold, _quality(loaded, kind, name, back))
    except LoopError as loop:
        return loop


def _named(loaded: Loaded, asked: str) -> tuple[str, str] | NotFound:
    """The one thing that is meant; a bare name wins over a word before it."""
    asked = " ".join(asked.split())
    word, _, rest = asked.partition(" ")
    things = [(r["kind"], r["name"]) for r in loaded.warehouse.ask("traceable_things", [asked, rest])]
    bare = [t for t in things if t[1] == asked]
    if len(bare) == 1:
        return bare[0]
    if word == "sale" and rest.isdecimal():
        return ("sale", rest) if rest in map(str, _lines(loaded, "sales").values()) else NotFound(asked, ())
    named = [t for t in things if t == (word, rest)]
    if word == "hive" and not named:  # a hive's number is enough where one apiary alone has it
        named = [t for t in things if t[0] == "hive" and t[1].rpartition("/")[2] == rest]
    return named[0] if len(named) == 1 else NotFound(asked, tuple(named or bare))


def _lines(loaded: Loaded, log: str, rows: Iterable[int] | None = None) -> dict[int, int]:
    """The line in its file of each row of a log."""
    wanted = {r["row"] for r in loaded.warehouse.rows(f'SELECT row FROM "{log}"')} if rows is None else set(rows)
    return loaded.lines(log, wanted)


def _start(loaded: Loaded, kind: str, name: str) -> dict[Thing, float]:
    """The things to walk from, and which share of each is meant: all harvests of a hive by the hive's part of them."""
    if kind == "sale":
        (row,) = (row for row, line in _lines(loaded, "sales").items() if str(line) == name)
        return {Thing("sale", str(row)): 1.0}
    if kind not in ("hive", "apiary"):
        return {Thing(kind, name): 1.0}
    column = "concat_ws('/', apiary, hive)" if kind == "hive" else "apiary"
    rows = loaded.warehouse.rows(
        f"SELECT harvest, sum(share)::DOUBLE AS share FROM harvest_hives WHERE {column} = ? GROUP BY harvest", [name]
    )
    return {Thing("harvest", r["harvest"]): r["share"] for r in rows}


def _up(
    loaded: Loaded, kind: str, start: Mapping[Thing, float], back: Sequence[Link]
) -> tuple[tuple[Origin, ...], tuple[tuple[str, str], ...]]:
    """What the thing is made of; of a hive or an apiary nothing stands behind."""
    if kind in ("hive", "apiary"):
        return (), _holds(_hives(loaded, [t.name for t in start]))
    ends = sources(start, back)
    ordered = sorted(ends.items(), key=lambda e: (-e[1], e[0].kind, e[0].name or ""))
    hives = _hives(loaded, [t.name for t in ends if t.kind == "harvest"])
    made = [Origin(t.kind, t.name, share) for t, share in ordered]
    return (*made, *_places(ends, hives), *_suppliers(loaded, ends)), _holds(hives)


def _quality(loaded: Loaded, kind: str, name: str, back: Sequence[Link]) -> Quality | None:
    """A block's figures, and all melts that its wax went through."""
    if kind != "block":
        return None
    melts = sorted({t.name for link in back for t in (link.source,) if t.kind == "session" and t.name})
    return of_block(loaded, name, melts)


def _hives(loaded: Loaded, harvests: Sequence[str | None]) -> list[dict[str, object]]:
    return loaded.warehouse.ask("harvests_behind", [list(harvests)])


def _holds(hives: Iterable[dict[str, object]]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted({(str(h["harvest"]), str(h["hold"])) for h in hives if h["hold"]}))


def _places(ends: dict[Thing, float], hives: Iterable[dict[str, object]]) -> list[Origin]:
    """The harvests' shares once more, by hive and by apiary; None where nobody wrote it down."""
    by_hive: dict[str | None, tuple[float, bool]] = {}
    by_apiary: dict[str | None, float] = {}
    for row in hives:
        share = ends[Thing("harvest", str(row["harvest"]))] * float(str(row["share"]))
        apiary = None if row["apiary"] is None else str(row["apiary"])
        hive = _hive(row)
        so_far, shared = by_hive.get(hive, (0.0, False))
        by_hive[hive] = so_far + share, shared or bool(row["shared"])
        by_apiary[apiary] = by_apiary.get(apiary, 0.0) + share
    found = [Origin("hive", hive, part, ("shared",) if shared else ()) for hive, (part, shared) in by_hive.items()]
    found += [Origin("apiary", apiary, share) for apiary, share in by_apiary.items()]
    return sorted(found, key=lambda s: (s.kind == "apiary", -s.share, s.id or ""))


def _suppliers(loaded: Loaded, ends: dict[Thing, float]) -> list[Origin]:
    """The bought blocks' shares once more, by who sold them."""
    names = [t.name for t in ends if t.kind == "block"]
    rows = loaded.warehouse.rows("SELECT block, supplier FROM blocks WHERE list_contains(?, block)", [names])
    shares: dict[str | None, float] = {}
    for row in rows:
        shares[row["supplier"]] = shares.get(row["supplier"], 0.0) + ends[Thing("block", row["block"])]
    return [
        Origin("supplier", name, share) for name, share in sorted(shares.items(), key=lambda s: (-s[1], s[0] or ""))
    ]


def _down(loaded: Loaded, kind: str, name: str, start: dict[Thing, float]) -> tuple[Destination, ...]:
    """What was made of the thing, stage by stage; the stages overlap, as a block is drawn for a batch that is sold."""
    shares = reached(start, links(loaded, "ahead", start))
    put(loaded, "trace_reached", shares)
    rows = loaded.warehouse.ask("things_in_trace")
    lines = {
        log: _lines(loaded, log, [int(r["id"]) for r in rows if r["kind"] == log[:-1]]) for log in ("draws", "sales")
    }
    made = [_outcome(loaded, row, lines) for row in rows]
    batches = [r["id"] for r in rows if r["kind"] == "batch"]
    if kind == "batch":
        batches.append(name)
    return (*made, *_sales_perhaps(loaded, batches), *_shelf(loaded, start | shares))


def _outcome(loaded: Loaded, row: dict[str, object], lines: dict[str, dict[int, int]]) -> Destination:
    kind, name, count, batch = str(row["kind"]), str(row["id"]), None, None
    if kind == "sale":
        (sale,) = loaded.warehouse.rows("SELECT count, batch FROM sales WHERE row = ?", [int(name)])
        count, batch = sale["count"], sale["batch"]
    if kind in ("draw", "sale"):
        name = str(lines[f"{kind}s"][int(name)])
    mass = None if row["wax_g"] is None else float(str(row["wax_g"])) * float(str(row["share"]))
    return Destination(kind, name, mass, row["date"], row["candle"], count, batch=batch)  # type: ignore[arg-type]


def _sales_perhaps(loaded: Loaded, batches: list[str]) -> list[Destination]:
    """Sales without a batch of candles that one of these batches gave: they may hold this wax, nobody can say how much."""
    rows = loaded.warehouse.ask("sales_without_batch", [batches])
    lines = _lines(loaded, "sales", [r["row"] for r in rows])
    return [Destination("sale", str(lines[r["row"]]), None, r["date"], r["candle"], r["count"]) for r in rows]


def _shelf(loaded: Loaded, shares: dict[Thing, float]) -> list[Destination]:
    """What of it is still on the shelf, in all, and in which blocks."""
    blocks = {t.name: share for t, share in shares.items() if t.kind == "block"}
    left = loaded.warehouse.ask("blocks_of_trace_on_shelf", [list(blocks)])
    parts = tuple((r["block"], float(r["mass_g"]) * blocks[r["block"]]) for r in left)
    return [Destination("shelf", None, sum(g for _, g in parts), blocks=parts)] if parts else []


@dataclass(frozen=True, slots=True)
class Journey:
    """The ways that one batch's wax took, and the hives of the harvests they began with, with their parts.

    ``wax_g``: the wax drawn for it.
    """

    batch: str
    candle: str
    date: date
    wax_g: float
    ways: tuple[Way, ...]
    hives: dict[str, tuple[tuple[str | None, float], ...]]


def latest_journey(loaded: Loaded) -> Journey | None:
    """Of the latest batch whose draws were logged; None where there is none, or its wax runs in a circle."""
    rows = loaded.warehouse.ask("latest_batch")
    return journey(loaded, rows[0]["batch"]) if rows else None


def journey(loaded: Loaded, name: str) -> Journey | None:
    """Of one batch; None where no wax was drawn for it, or its wax runs in a circle."""
    batch = Thing("batch", name)
    held = loaded.warehouse.rows("SELECT * FROM wax_holders WHERE kind = 'batch' AND id = ? AND wax_g > 0", [name])
    try:
        found = ways(batch, links(loaded, "behind", (batch,)))
    except LoopError:
        return None
    if not held:
        return None
    hives: dict[str, list[tuple[str | None, float]]] = {}
    for row in _hives(loaded, [w.begin.name for w in found if w.begin.kind == "harvest"]):
        hives.setdefault(str(row["harvest"]), []).append((_hive(row), float(str(row["share"]))))
    kept = {harvest: tuple(mine) for harvest, mine in hives.items()}
    return Journey(name, held[0]["candle"], held[0]["date"], float(held[0]["wax_g"]), tuple(found), kept)


def _hive(row: dict[str, object]) -> str | None:
    """A hive's name with its apiary before it; None where it was not logged."""
    return None if row["hive"] is None else "/".join(str(part) for part in (row["apiary"], row["hive"]) if part)
