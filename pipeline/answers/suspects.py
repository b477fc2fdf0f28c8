"""Weights that do not fit: the weighings of a loaded book handed to their analyses."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, partial
from math import sqrt
from typing import Any

from pipeline.analyses.balances_of_book import Records, balances
from pipeline.analyses.suspects import Pen, Suspect, Verdict, suspects
from pipeline.analyses.typing_slips import Typed, grams
from pipeline.analyses.weighings import Balance, Weight, weighed
from pipeline.book.book_folder import SHEETS, Scale
from pipeline.contract.findings import log_name
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import GRAMS
from pipeline.database.connection import Warehouse, queries
from pipeline.flow import Loaded
from pipeline.reading.typed_cells import TypedCells

LATEST = 1000
"""A report of a bigger book balances so many of its latest sessions."""


@dataclass(frozen=True, slots=True)
class Balanced:
    """One weighing in a balance: where it stands, as weighed and as reconciled, g.

    ``weighed_g`` is None where nobody weighed it, ``likely_g`` where nothing says what it was.
    """

    name: str
    weighed_g: float | None
    likely_g: float | None


@dataclass(frozen=True, slots=True)
class Placed:
    """A suspect with its place in the file (``line`` None: a row that is missing); masses in g.

    ``balance``: the weighings of its session, as weighed and as reconciled.
    """

    log: str
    line: int | None
    column: str
    value_g: float | None
    likely_g: float | None
    reason: str
    chance: float
    session: str | None
    balance: tuple[Balanced, ...]


_IN_JSON = ("log", "line", "column", "value_g", "likely_g", "reason", "chance")


@dataclass(frozen=True, slots=True)
class StepBalance:
    """One step of a session, g: what went in and came out as weighed, what is missing, and the same once reconciled.

    None where something on that side was not weighed, or nothing tells its mass.
    """

    step: str
    in_g: float | None
    out_g: float | None
    gap_g: float | None
    reconciled_gap_g: float | None


@dataclass(frozen=True, slots=True)
class SessionBalance:
    """A session's steps, and every weighing in them as weighed and as reconciled."""

    session: str
    steps: tuple[StepBalance, ...]
    weighings: tuple[Balanced, ...]


@dataclass(frozen=True)
class Fit:
    """How a book's weighings fit together, in ``sessions`` of its ``of`` sessions; masses in g."""

    loaded: Loaded
    verdict: Verdict
    sessions: int
    of: int

    def in_json(self) -> list[dict[str, Any]]:
        """For other programs: the suspects."""
        return [{key: getattr(s, key) for key in _IN_JSON} | {"log": log_name(s.log)} for s in self.suspects]

    @cached_property
    def suspects(self) -> tuple[Placed, ...]:
        """The weights that do not fit, most likely first."""
        return tuple(self._placed(s) for s in self.verdict.suspects)

    def _placed(self, s: Suspect) -> Placed:
        cells = [self.place(w) for w in s.among]
        reason = f"one of these ({'; '.join(cells)}): {s.reason}" if cells else s.reason
        line = None if s.row is None else self.line(s.log, s.row)
        file = self.file(s.log)
        return Placed(file, line, s.column, s.value_g, s.likely_g, reason, s.chance, s.session, self.session(s.session))

    def file(self, log: str) -> str:
        """The name of a log's file."""
        return self.loaded.run.files.get(log, LOGS[log].file)

    def line(self, log: str, row: int) -> int | None:
        """The physical line of a row."""
        return self._files.line(log, row)

    @cached_property
    def _files(self) -> _Files:
        return _Files(self.loaded, self.verdict.weighed.weights)

    def knows(self, session: str) -> bool:
        """Whether a session has passes that can be used."""
        return bool(self.loaded.warehouse.rows("SELECT 1 FROM passes WHERE session = ? LIMIT 1", [session]))

    def place(self, weight: Weight) -> str:
        """Where a weight stands, for people."""
        return f"{self.file(weight.log)} line {self.line(weight.log, weight.row)}, {weight.column}"

    def steps(self, session: str) -> list[Balance]:
        """The balances that a session is part of, in the order of the work."""
        return self._steps.get(session, [])

    @cached_property
    def _steps(self) -> dict[str, list[Balance]]:
        found: dict[str, list[Balance]] = defaultdict(list)
        for b in self.verdict.weighed.balances:
            if b.session is not None:
                found[b.session].append(b)
        return found

    def gap(self, balance: Balance) -> float | None:
        """What goes missing at a balance once reconciled, g; None where nothing tells one of its masses."""
        masses = self._masses([balance])
        into, out = ([masses[w] for w in side] for side in (balance.into, balance.out))
        return None if None in into or None in out else sum(g or 0.0 for g in into) - sum(g or 0.0 for g in out)

    def session(self, session: str | None) -> tuple[Balanced, ...]:
        """Every weighing of a session, as weighed and as reconciled."""
        steps = [] if session is None else self.steps(session)
        cells = dict.fromkeys(w for b in steps for w in (*b.into, *b.out))
        masses = self._masses(steps)
        return tuple(Balanced(self.place(w), w.mass_g, masses[w]) for w in cells)

    def balance(self, session: str) -> SessionBalance:
        """The balances of a session, one after the other."""
        return SessionBalance(session, tuple(map(self._step, self.steps(session))), self.session(session))

    def _step(self, b: Balance) -> StepBalance:
        """One balance; a side of which something was not weighed has no sum as weighed."""
        sides = ((b.into, b.in_g), (b.out, b.out_g))
        into, out = (None if any(w.mass_g is None for w in side) else g for side, g in sides)
        gap = None if into is None or out is None else into - out
        return StepBalance(b.name, into, out, gap, self.gap(b))

    def _masses(self, balances: Sequence[Balance]) -> dict[Weight, float | None]:
        """The masses in these balances, reconciled, or what the others leave for them."""
        kept, derived = self.verdict.masses, self.verdict.derived(balances)
        return {w: derived[w] if w in derived else kept[w] for b in balances for w in (*b.into, *b.out)}


def fit(loaded: Loaded, latest: int | None = None) -> Fit:
    """Balance every weighing of the book, or of its ``latest`` sessions, and look for slips."""
    book, warehouse = loaded.book, loaded.warehouse
    looked_at = _look(warehouse, latest)
    found = weighed(balances(_records(warehouse)), partial(uncertainty, cache(book.scale)))
    files = _Files(loaded, found.weights)
    verdict = suspects(found, Pen(files.typed, book.vessels, lambda log: book.scale(log).step_g))
    return Fit(loaded, verdict, *looked_at)


def _look(warehouse: Warehouse, latest: int | None) -> tuple[int, int]:
    """Choose the sessions to look at, all or so many of the latest; how many that are, and of how many."""
    for name in ("looked_at", "looked_stores"):
        warehouse.set_aside(name, [latest])
    (found,) = warehouse.rows("SELECT (SELECT count(*) FROM looked_at) AS n, (SELECT count(*) FROM sessions) AS of")
    return found["n"], found["of"]


def _records(warehouse: Warehouse) -> Records:
    """The rows that hold weighings of what is looked at."""
    logs = ("harvests", "loads", "passes", "steps", "blocks", "draws", "stocktakes")
    rows = {log: warehouse.ask(f"weighed_{log}") for log in logs}
    return Records(**rows, unweighed_pours=[r["date"] for r in warehouse.ask("unweighed_pours")])


def uncertainty(scale: Callable[[str], Scale], log: str, mass_g: float) -> float:
    """Standard uncertainty of one weighing, g, by the log's scale; a milligram at least, so that no balance is exact."""
    return max(sqrt(scale(log).variance_g2(mass_g)), 1e-3)


class _Files:
    """Where the mass cells of a book's files are, and what stands in them; each file is read once, where asked for."""

    def __init__(self, loaded: Loaded, weights: Sequence[Weight]) -> None:
        self._loaded = loaded
        self._weights = weights
        self._lines: dict[str, dict[int, int]] = {}
        texts = {log: f for log, f in loaded.files.items() if f.suffix.lower() not in SHEETS}
        self._logs = {log: TypedCells(LOGS[log], file) for log, file in texts.items()}

    def line(self, log: str, row: int) -> int | None:
        """The physical line of a row that holds a weight."""
        if log not in self._lines:
            self._lines[log] = self._loaded.lines(log, {w.row for w in self._weights if w.log == log})
        return self._lines[log].get(row)

    def typed(self, weight: Weight) -> Typed:
        """The text and unit of a weight; where the file cannot say, the weight as the book shows it."""
        mass_g, default = weight.mass_g or 0.0, self._loaded.book.show.mass_unit
        line = self.line(weight.log, weight.row)
        cell = self._logs[weight.log].cell(line, weight.column) if weight.log in self._logs and line else None
        if cell is not None and cell[1] in GRAMS:
            typed = Typed(cell[0], cell[1] or default)
            read = grams(typed)
            if read is not None and abs(read - mass_g) < 1e-3:
                return typed
        decimals = {"g": 0, "kg": 3, "oz": 2, "lb": 2}[default]
        return Typed(f"{mass_g / GRAMS[default]:.{decimals}f}", default)


def reconcile(loaded: Loaded) -> Fit:
    """Put reconciled masses in place of the weighed ones and work out every model again; returns what was found.

    The logs themselves are never touched; a weight that is most likely a slip counts as not weighed.
    """
    found = fit(loaded)
    warehouse = loaded.warehouse
    cells = found.verdict.masses
    columns = [[w.log for w in cells], [w.row for w in cells], [w.column for w in cells], list(cells.values())]
    warehouse.set_aside("reconciled", columns)
    for log, column in sorted({(w.log, w.column) for w in cells}):
        warehouse.execute(
            f'UPDATE "{log}" SET "{column}_g" = mass::DECIMAL(18, 6) FROM reconciled '
            f"WHERE log = '{log}' AND column_name = '{column}' AND cell = \"{log}\".row"
        )
    warehouse.run(warehouse.in_order(queries("models")))
    return found
