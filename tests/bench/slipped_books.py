"""Invented books with one or two planted slips, as people's books are: half of the weights were never taken twice.

A session has one or two lots, one or two passes, one to three blocks; a sixth of the loads, a third of ``mass_in`` and a
third of the residues were not weighed. Each reading is off by up to 5 g, at each step up to 1 % is spilt, slumgum is more
or less wet. The slips: digits swapped, decimal point, unit, a vessel left on or taken off twice, one digit, 300 g more or
less, in equal parts, at any weighed cell and of any size. :mod:`tests.bench.slip_bayes` knows all that stands here.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np

from pipeline.analyses.balances_of_book import Records
from pipeline.contract.quantities import GRAMS

ERROR_G = 5.0
SPILL = 0.01
VESSELS = {"enamel pot": 1840.0, "steel bowl": 620.0}
KINDS = ("swap", "decimal", "unit", "tare", "digit", "300 g")
DECIMALS = {"kg": 3, "g": 0, "lb": 2, "oz": 1}
LOT_G = (2000.0, 12000.0)
YIELDS = {
    ("brood comb", "steam"): 0.30, ("brood comb", "water bath"): 0.18, ("white comb", "steam"): 0.65,
    ("white comb", "water bath"): 0.56, ("cappings", "steam"): 0.86, ("cappings", "water bath"): 0.83,
}  # fmt: skip
YIELD_SD, WET, WET_SD = 0.04, 0.95, 0.12
LOSS, LOSS_SD, DREGS, DREGS_SD = 0.03, 0.01, 0.6, 0.15
SPLIT = 8.0


@dataclass(frozen=True, slots=True)
class Cell:
    """One weighed cell: its log, row (1 = first) and column."""

    log: str
    row: int
    column: str


@dataclass
class Session:
    """What one session weighed, in the order of the work; None where it was not weighed."""

    kind: tuple[str, str]
    lots: list[tuple[Cell, Cell | None]] = field(default_factory=list)
    passes: list[tuple[Cell | None, Cell, Cell | None]] = field(default_factory=list)
    blocks: list[Cell] = field(default_factory=list)

    def cells(self) -> list[Cell]:
        """Every weighed cell."""
        rows = [*self.lots, *self.passes, *((b,) for b in self.blocks)]
        return [c for row in rows for c in row if c is not None]


@dataclass
class Book:
    """A book: its rows, its sessions, the unit all is typed in, and the text of each weighed cell."""

    records: Records
    sessions: list[Session]
    unit: str
    texts: dict[Cell, str]

    def value(self, cell: Cell) -> float:
        """What stands in a cell, g."""
        return float(self.texts[cell]) * GRAMS[self.unit]

    def put(self, cell: Cell, text: str) -> None:
        """Type another text into a cell."""
        self.texts[cell] = text
        getattr(self.records, cell.log)[cell.row - 1][f"{cell.column}_g"] = self.value(cell)


@dataclass(frozen=True, slots=True)
class Planted:
    """One slip: its kind, its cell, and what should have stood there, g."""

    kind: str
    cell: Cell
    meant_g: float


def clean_book(rng: np.random.Generator, sessions: int, unit: str = "kg") -> Book:
    """A book without any slip."""
    return _Writer(rng, unit).book(sessions)


class _Writer:
    def __init__(self, rng: np.random.Generator, unit: str) -> None:
        self.rng, self.made = rng, Book(Records([], [], [], [], [], [], []), [], unit, {})

    def book(self, sessions: int) -> Book:
        day = date(2024, 5, 1)
        for n in range(1, sessions + 1):
            day += timedelta(days=9)
            self._session(f"S{n}", day)
        return self.made

    def _weigh(self, log: str, column: str, true_g: float, share_weighed: float = 1.0) -> tuple[Cell | None, float | None]:
        if self.rng.random() >= share_weighed:
            return None, None
        read = max(true_g + self.rng.uniform(-ERROR_G, ERROR_G), ERROR_G)
        cell = Cell(log, len(getattr(self.made.records, log)) + 1, column)
        self.made.texts[cell] = f"{read / GRAMS[self.made.unit]:.{DECIMALS[self.made.unit]}f}"
        return cell, self.made.value(cell)

    def _row(self, log: str, **cells: Any) -> None:
        rows = getattr(self.made.records, log)
        rows.append({"row": len(rows) + 1, **cells})

    def _session(self, s: str, day: date) -> None:
        rng = self.rng
        kind = list(YIELDS)[int(rng.integers(len(YIELDS)))]
        session, total = Session(kind), 0.0
        for lot in "ab"[: int(rng.integers(1, 3))]:
            true = float(rng.uniform(*LOT_G))
            total += true
            taken, mass_g = self._weigh("harvests", "mass", true)
            self._row("harvests", harvest=f"H{s}{lot}", mass_g=mass_g)
            load, mass_g = self._weigh("loads", "mass", true, 5 / 6)
            where = {"session": s, "pass": 1, "source_kind": "harvest", "source": f"H{s}{lot}", "part": None}
            self._row("loads", **where, mass_g=mass_g, emptied=True, date=day)
            assert taken is not None
            session.lots.append((taken, load))
        wax = self._pass(session, s, total, rng.normal(YIELDS[kind], YIELD_SD), rng.normal(WET, WET_SD), 1)
        if rng.random() < 0.5:
            wax = self._pass(session, s, wax, 1 - rng.normal(LOSS, LOSS_SD), rng.normal(DREGS, DREGS_SD), 2)
        cast = wax * (1 - rng.uniform(0, SPILL))
        for i, share in enumerate(rng.dirichlet(np.full(int(rng.integers(1, 4)), SPLIT))):
            block, mass_g = self._weigh("blocks", "mass", cast * share)
            self._row("blocks", block=f"B{s}{'abc'[i]}", session=s, date=day, blend=None, mass_g=mass_g)
            assert block is not None
            session.blocks.append(block)
        self.made.sessions.append(session)

    def _pass(self, session: Session, s: str, went_in: float, share: float, wet: float, number: int) -> float:
        true_in = went_in * (1 - self.rng.uniform(0, SPILL))
        share = min(max(share, 0.03), 0.995)
        into, in_g = self._weigh("passes", "mass_in", true_in, 2 / 3)
        out, out_g = self._weigh("passes", "wax_out", true_in * share)
        residue, residue_g = self._weigh("passes", "residue", true_in * (1 - share) * max(wet, 0.2), 2 / 3)
        assert out is not None
        session.passes.append((into, out, residue))
        self._row("passes", session=s, **{"pass": number}, mass_in_g=in_g, wax_out_g=out_g, residue_g=residue_g)
        comb, method = session.kind
        stage = {"stage": "first", "method": method} if number == 1 else {"stage": "refining", "method": "double boiler"}
        self.made.records.steps.append({"session": s, "pass": number, "comb": comb, **stage})
        return true_in * share


def ways(kind: str, text: str, unit: str) -> Iterator[tuple[str, float]]:
    """What one slip of this kind can make of a text, each with its chance."""
    grams, found = float(text) * GRAMS[unit], []
    places = [i for i, c in enumerate(text) if c.isdigit()]

    def typed(mass_g: float, more: int = 0) -> str:
        return f"{mass_g / GRAMS[unit]:.{DECIMALS[unit] + more}f}"

    if kind == "swap":
        pairs = [(i, j) for i, j in itertools.pairwise(places) if text[i] != text[j]]
        found = [text[:i] + text[j] + text[i + 1 : j] + text[i] + text[j + 1 :] for i, j in pairs]
    if kind == "digit":
        found = [text[:i] + d + text[i + 1 :] for i in places for d in "0123456789" if d != text[i]]
    if kind == "decimal":
        found = [typed(grams * 10), typed(grams / 10, 1)]
    if kind == "unit":
        found = [f"{grams / GRAMS[u]:.{DECIMALS[u]}f}" for u in GRAMS if u != unit]
    if kind == "tare":
        found = [typed(grams + v) for v in VESSELS.values()] + [typed(grams - v) for v in VESSELS.values()]
    if kind == "300 g":
        found = [typed(grams + 300), typed(grams - 300)]
    found = [t for t in found if float(t) > 0 and t != text]
    yield from ((t, 1 / len(found)) for t in found)


def slip(rng: np.random.Generator, book: Book, kind: str, among: list[Cell]) -> Planted:
    """Plant one slip of a kind in one of these cells."""
    while True:
        cell = among[int(rng.integers(len(among)))]
        options = [t for t, _ in ways(kind, book.texts[cell], book.unit)]
        if options:
            meant = book.value(cell)
            book.put(cell, options[int(rng.integers(len(options)))])
            return Planted(kind, cell, meant)


def one_slip(seed: int, number: int, sessions: int) -> tuple[Book, Planted]:
    """Book ``number`` of a bench with one slip."""
    rng = np.random.default_rng((seed, sessions, number))
    book = clean_book(rng, sessions, ("kg", "g", "lb")[number // len(KINDS) % 3])
    return book, slip(rng, book, KINDS[number % len(KINDS)], list(book.texts))


def two_slips(seed: int, number: int, sessions: int) -> tuple[Book, list[Planted]]:
    """Book ``number`` of a bench with two slips at two weights of one session."""
    rng = np.random.default_rng((seed, sessions, number))
    book = clean_book(rng, sessions, ("kg", "g", "lb")[number // len(KINDS) % 3])
    cells = book.sessions[int(rng.integers(sessions))].cells()
    first = slip(rng, book, KINDS[number % len(KINDS)], cells)
    rest = [c for c in cells if c != first.cell]
    return book, [first, slip(rng, book, str(rng.choice(KINDS)), rest)]
