"""What the book already knows that a recording may want: what waits to be rendered, the usual way, the usual loss."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.book import Book
from pipeline.quantities import in_unit

_DECIMALS = {"g": 0, "kg": 2, "oz": 1, "lb": 2}
_RECENT = 40  # rows that tell which columns a book uses
_ENOUGH = 3  # sessions that make a usual range


@dataclass(frozen=True, slots=True)
class Lot:
    """Something that can be loaded: its kind (harvest, slumgum, wax, block), name, what is left in g (None: not known)."""

    kind: str
    name: str
    about: str
    mass_g: float | None


@dataclass(frozen=True)
class Offers:
    """Everything a form or a prompt offers. ``used`` holds the optional columns that the book fills, by log."""

    book: Book
    lots: tuple[Lot, ...]
    open_sessions: tuple[str, ...]
    last: dict[str, dict[str, str]]
    used: dict[str, frozenset[str]]
    usual_rest: dict[tuple[str, str], tuple[float, float]]
    next_names: dict[str, str]
    passes_done: dict[str, int]
    waiting_g: dict[str, float]

    def mass(self, grams: float | None) -> str:
        """A mass in the book's unit, with it; a dash where it is not known."""
        return "–" if grams is None else f"{shown(grams, self.book)} {self.book.show.mass}"


def shown(grams: float, book: Book) -> str:
    """A mass in the book's unit, without it."""
    return f"{in_unit(grams, book.show.mass):.{_DECIMALS[book.show.mass]}f}"


def of(folder: Path, today: date) -> Offers:
    """The offers of a book as it stands; rows with errors stay out. Raises MachineFault."""
    from pipeline import flow
    from pipeline.logs import LOGS

    loaded = flow.load(folder, today)
    rows = loaded.warehouse.rows
    used, last, names = {}, {}, {}
    for log in LOGS.values():
        recent = rows(f'SELECT * FROM "{log.name}" ORDER BY row DESC LIMIT {_RECENT}')
        used[log.name] = frozenset(c.name for c in log.columns if any(r[c.field] is not None for r in recent))
        last[log.name] = {
            c.name: str(recent[0][c.field]) for c in log.columns if recent and recent[0][c.field] is not None
        }
        if log.key:
            names[log.name] = _next(
                [r[log.key[0]] for r in rows(f'SELECT {log.key[0]} FROM "{log.name}" ORDER BY row')]
            )
    offers = Offers(loaded.book, _lots(rows), _open(rows), last, used, _usual(rows), names, _done(rows), _waiting(rows))
    loaded.warehouse.close()
    return offers


def _lots(rows: Any) -> tuple[Lot, ...]:
    """Comb first, as it waits longest; then slumgum and wax of earlier sessions."""
    comb = [
        Lot("harvest", r["harvest"], r["comb"], _float(r["mass_g"]))
        for r in rows(f"SELECT * FROM comb_pending ORDER BY wax_expected DESC NULLS LAST, harvest DESC LIMIT {_RECENT}")
    ]
    wax = [
        Lot("wax", r["session"], "wax set aside", _float(r["mass_g"]))
        for r in rows(f"SELECT * FROM stock_set_aside ORDER BY date DESC LIMIT {_RECENT}")
    ]
    slumgum = rows(
        "SELECT s.session, s.residue_g - coalesce(sum(l.mass_g), 0) AS mass_g FROM sessions AS s LEFT JOIN load_sources AS l "
        "ON l.source = s.session AND l.part = 'slumgum' GROUP BY s.session, s.residue_g, s.last_date "
        "HAVING s.residue_g - coalesce(sum(l.mass_g), 0) > 0 ORDER BY s.last_date DESC LIMIT 12"
    )
    return (*reversed(comb), *(Lot("slumgum", r["session"], "slumgum", _float(r["mass_g"])) for r in slumgum), *wax)


def _open(rows: Any) -> tuple[str, ...]:
    """Sessions whose wax waits, or which were loaded and never taken off."""
    waiting = rows("SELECT session FROM stock_set_aside ORDER BY date DESC")
    loaded = rows("SELECT DISTINCT session FROM loads ANTI JOIN passes USING (session) ORDER BY session")
    return tuple(r["session"] for r in [*loaded, *waiting])


def _usual(rows: Any) -> dict[tuple[str, str], tuple[float, float]]:
    """The middle half of the unaccounted share of mass_in, by stage and method, where enough passes tell it."""
    told = rows(
        "SELECT stage, method, quantile_cont(unaccounted_g::DOUBLE / in_g::DOUBLE, [0.25, 0.75]) AS q FROM pass_steps "
        "WHERE residue_weighed AND in_weighed AND in_g > 0 GROUP BY stage, method "
        f"HAVING count(*) >= {_ENOUGH}"
    )
    return {(r["stage"], r["method"]): (float(r["q"][0]), float(r["q"][1])) for r in told}


def _done(rows: Any) -> dict[str, int]:
    return {r["session"]: int(r["n"]) for r in rows("SELECT session, max(pass) AS n FROM passes GROUP BY session")}


def _waiting(rows: Any) -> dict[str, float]:
    return {r["session"]: float(r["mass_g"]) for r in rows("SELECT session, mass_g FROM stock_set_aside")}


def _next(names: Sequence[str]) -> str:
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
