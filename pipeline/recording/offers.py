"""What the book already knows that a recording may want: what waits to be rendered, the usual way, the usual loss."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.book.book_settings import Book
from pipeline.contract.columns import Log
from pipeline.contract.findings import Finding, log_name
from pipeline.contract.log_columns import LOGS
from pipeline.recording.noted_arithmetic import holds_sums_alone
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import DASH

if TYPE_CHECKING:
    from pipeline.flow import Loaded

NO_COMB = "This book has no comb yet: a session begins with comb, so record a harvest first."
_RECENT = 40  # rows that tell which columns a book uses
_SKIPS = 3  # rows in which a column stood empty, after which it is asked last
_NAMES = 12  # candles, recipes and wicks that are offered


@dataclass(frozen=True, slots=True)
class OfferedLot:
    """Something that can be loaded: its kind (harvest, slumgum, wax, block), name, what is left in g (None: not known)."""

    kind: str
    name: str
    about: str
    mass_g: float | None


@dataclass(frozen=True)
class Offers:
    """Everything a form or a prompt offers.

    ``used`` holds the optional columns that the book fills, ``known`` the latest names, both by log;
    ``sources`` holds every name that something can be loaded from; ``usual_methods`` the way of melting by comb; ``skipped``
    by log the columns that the latest rows all left empty; ``batches`` by candle those that may be on the shelf.
    """

    book: Book
    lots: tuple[OfferedLot, ...]
    shelf: tuple[OfferedLot, ...]
    known: dict[str, tuple[str, ...]]
    open_sessions: tuple[str, ...]
    last: dict[str, dict[str, str]]
    used: dict[str, frozenset[str]]
    usual_rest: dict[tuple[str, str], tuple[float, float]]
    next_names: dict[str, str]
    passes_done: dict[str, int]
    waiting_g: dict[str, float]
    sources: frozenset[str]
    usual_methods: dict[str, str]
    skipped: dict[str, frozenset[str]]
    batches: dict[str, tuple[OfferedLot, ...]]

    def mass(self, grams: float | None) -> str:
        """A mass with its unit; a dash where it is not known."""
        return DASH if grams is None else Units.of(self.book).mass(grams)


def of(folder: Path, today: date) -> Offers:
    """The offers of a book as it stands; rows with errors stay out. Raises MachineFault."""
    from pipeline.database.shipped_queries import queries

    loaded = _worked_out(folder, today)
    rows = loaded.warehouse.rows
    asked = {query.name: rows(query.sql) for query in queries("recording/queries")}
    recent = {log: rows(f'SELECT * FROM "{log}" ORDER BY row DESC LIMIT {_RECENT}') for log in LOGS}
    names = {n: rows(f'SELECT {log.key[0]} AS name FROM "{n}" ORDER BY row') for n, log in LOGS.items() if log.key}
    loaded.warehouse.close()
    return Offers(
        loaded.book,
        tuple(OfferedLot(r["kind"], r["name"], r["about"], _float(r["mass_g"])) for r in asked["lots_to_load"]),
        tuple(OfferedLot("block", r["name"], r["about"], _float(r["mass_g"])) for r in asked["blocks_on_shelf"]),
        {log: tuple(dict.fromkeys(r["name"] for r in held[::-1]))[:_NAMES] for log, held in names.items()},
        (*_never_taken_off(loaded.findings), *(r["session"] for r in asked["wax_set_aside"])),
        {log: _last(LOGS[log], held) for log, held in recent.items()},
        {log: _used(LOGS[log], held) for log, held in recent.items()},
        {(r["stage"], r["method"]): (float(r["low"]), float(r["high"])) for r in asked["usual_unaccounted"]},
        {log: next_name([r["name"] for r in held]) for log, held in names.items()},
        {r["session"]: int(r["last_pass"]) for r in asked["last_pass_numbers"]},
        {r["session"]: float(r["mass_g"]) for r in asked["wax_set_aside"]},
        frozenset(str(r["name"]) for log in ("harvests", "blocks", "passes") for r in names[log]),
        {r["comb"]: r["method"] for r in asked["usual_methods"]},
        {log: _skipped(LOGS[log], held) for log, held in recent.items()},
        _batches(asked["batches_left"]),
    )  # fmt: skip


def _worked_out(folder: Path, today: date) -> Loaded:
    """The book as far as the offers need it: who waits for a question waits for no figure that nobody asks about."""
    from pipeline import flow
    from pipeline.database.made_from import made_from
    from pipeline.database.shipped_queries import queries
    from pipeline.database.tables_a_query_reads import read_by

    origin = made_from(folder, today)
    if origin is None:
        return flow.load(folder, today)
    return flow.answering(read_by(queries("recording/queries")).union(LOGS), folder, today, origin)


def _batches(rows: Sequence[Mapping[str, Any]]) -> dict[str, tuple[OfferedLot, ...]]:
    """By candle its batches that may be on the shelf, the latest first."""
    found: dict[str, list[OfferedLot]] = {}
    for row in rows:
        lots = found.setdefault(row["candle"], [])
        if len(lots) < _NAMES:
            lots.append(OfferedLot("batch", row["batch"], f"{row['count']} left", None))
    return {candle: tuple(lots) for candle, lots in found.items()}


def _used(log: Log, recent: Sequence[Mapping[str, Any]]) -> frozenset[str]:
    """The columns that somebody filled; the program's own notes of a sum are nobody's."""
    filled = {c.name: [r[c.field] for r in recent if r[c.field] is not None] for c in log.columns}
    written = [text for text in filled.get("notes", ()) if not holds_sums_alone(log, text)]
    return frozenset(name for name, held in (filled | {"notes": written}).items() if held)


def _skipped(log: Log, recent: Sequence[Mapping[str, Any]]) -> frozenset[str]:
    """The columns that the last few rows all left empty; none while there are fewer rows."""
    held = recent[:_SKIPS]
    return frozenset(c.name for c in log.columns if len(held) == _SKIPS and all(r[c.field] is None for r in held))


def _last(log: Log, recent: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """The filled cells of the last row."""
    return {c.name: str(recent[0][c.field]) for c in log.columns if recent and recent[0][c.field] is not None}


def _never_taken_off(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Sessions that were loaded and have no pass: to a build an error, here what is to go on."""
    open_ = ("loads", "unknown-reference", "session")
    found = [f.value for f in findings if (log_name(f.log), f.rule, f.column) == open_ and f.value]
    return tuple(dict.fromkeys(found))


def next_name(names: Sequence[str]) -> str:
    """The name after the last one, where its end is a number: R26-6 gives R26-7; the first free one."""
    match = re.fullmatch(r"(.*?)(\d+)", names[-1]) if names else None
    if match is None:
        return ""
    taken, width, number = set(names), len(match[2]), int(match[2])
    while (name := f"{match[1]}{number:0{width}d}") in taken:
        number += 1
    return name


def _float(value: Any) -> float | None:
    return None if value is None else float(value)
