"""Weights that do not fit, and the trend: the tables of a loaded book handed to their analyses."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import hypot
from typing import Any

from pipeline.analyses import control, leaks, trend
from pipeline.analyses.control import Chart, Signal
from pipeline.analyses.leaks import Leak
from pipeline.analyses.slips import GRAMS, Typed, grams
from pipeline.analyses.slope import Line
from pipeline.analyses.steps import Records, balances
from pipeline.analyses.suspects import Pen, Suspect, Verdict, suspects
from pipeline.analyses.trend import Change, SeasonRow
from pipeline.analyses.weighings import Balance, Weight, weighed
from pipeline.flow import Loaded
from pipeline.reading.typed import TypedCells
from pipeline.warehouse import Warehouse, queries

_LOADS = """
SELECT row, session, pass, date, source_kind, source, if(source_kind = 'session', part, NULL) AS part, mass_g, emptied
FROM load_parts ORDER BY row
"""
_STEPS = """
SELECT s.session, s.pass, s.stage, s.method, c.comb FROM pass_steps AS s LEFT JOIN session_combs AS c USING (session)
"""
_CHARTED = """
SELECT s.session, s.pass, s.date, s.stage, s.method, c.comb, s.loss
FROM pass_steps AS s LEFT JOIN session_combs AS c USING (session)
JOIN passes AS p ON p.session = s.session AND p.pass = s.pass
ORDER BY s.date, p.row
"""
_WON = """
SELECT c.season, c.comb, coalesce(o.method, c.method) AS method, c.loaded_g, c.wax_g
FROM comb_yields AS c LEFT JOIN session_yields AS o ON o.session = c.origin
WHERE c.season IS NOT NULL AND (c.loaded_g > 0 OR c.wax_g > 0) ORDER BY c.session, c.origin
"""
_REFINING = """
SELECT season, 1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM losses_by_season WHERE stage = 'refining' AND season IS NOT NULL GROUP BY season ORDER BY season
"""
_LOST = """
SELECT 'what goes into pass ' || if(pass = 1, '1', '2 and later') AS place, session,
    before_g + loaded_g AS in_g, handling_g AS lost_g, 'passes' AS log
FROM pass_steps WHERE in_weighed AND before_g + loaded_g > 0
UNION ALL
SELECT 'refining' || coalesce(' through ' || filter, '') || ' (' || method || ')', session, in_g, unaccounted_g, 'passes'
FROM pass_steps WHERE stage = 'refining' AND residue_weighed AND in_known AND unaccounted_g IS NOT NULL
UNION ALL
SELECT 'casting', session, blocks_g + casting_g, casting_g, 'blocks' FROM session_flow WHERE blocks_g > 0
ORDER BY 1, 2
"""


@dataclass(frozen=True, slots=True)
class Balanced:
    """One weighing in a balance: where it stands, as weighed and as reconciled, g."""

    name: str
    weighed_g: float
    likely_g: float


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


@dataclass(frozen=True)
class Fit:
    """How a book's weighings fit together; masses in g."""

    loaded: Loaded
    verdict: Verdict
    leaks: tuple[Leak, ...]

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
        return self.loaded.reading.files[log].name if log in self.loaded.reading.files else f"{log}.csv"

    def line(self, log: str, row: int) -> int | None:
        """The physical line of a row."""
        return self.loaded.reading.lines(log, {row}).get(row)

    def place(self, weight: Weight) -> str:
        """Where a weight stands, for people."""
        return f"{self.file(weight.log)} line {self.line(weight.log, weight.row)}, {weight.column}"

    def steps(self, session: str) -> list[Balance]:
        """The balances that a session is part of, in the order of the work."""
        return [b for b in self.verdict.weighed.balances if b.session == session]

    def gap(self, balance: Balance) -> float:
        """What goes missing at a balance once reconciled, g; masses nobody weighed count as nothing."""
        masses = self.verdict.masses
        into, out = (sum(masses.get(w, 0.0) for w in side) for side in (balance.into, balance.out))
        return into - out

    def session(self, session: str | None) -> tuple[Balanced, ...]:
        """Every weighing of a session, as weighed and as reconciled."""
        steps = [] if session is None else self.steps(session)
        cells = dict.fromkeys(w for b in steps for w in (*b.into, *b.out) if w.mass_g is not None)
        masses = self.verdict.masses
        return tuple(Balanced(self.place(w), w.mass_g or 0.0, masses[w]) for w in cells)


@dataclass(frozen=True, slots=True)
class Trend:
    """Seasons with their changes, the slope through them, and the control charts of the steps.

    ``slope`` and ``least_squares`` are of the yield at a fixed comb mix; ``whole`` the change from first season to last.
    """

    seasons: tuple[SeasonRow, ...]
    slope: Line | None
    least_squares: Line | None
    changes: tuple[Change, ...]
    whole: Change | None
    verdict: str
    limits: tuple[Chart, ...]

    @property
    def signals(self) -> tuple[Signal, ...]:
        """Every point at which a rule fired."""
        return tuple(s for chart in self.limits for s in chart.signals)


def fit(loaded: Loaded) -> Fit:
    """Balance every weighing of the book and look for slips and leaks."""
    book, warehouse = loaded.book, loaded.warehouse
    found = weighed(balances(records(warehouse)), lambda log, mass_g: uncertainty(loaded, log, mass_g))
    pen = Pen(_Cells(loaded).typed, book.vessels, lambda log: book.scale(log).step_g)
    verdict = suspects(found, pen)
    slipped = {s.session for s in verdict.suspects}
    losses = [_loss(loaded, r) for r in warehouse.rows(_LOST) if r["session"] not in slipped]
    return Fit(loaded, verdict, tuple(leaks.leaks(losses)))


def _loss(loaded: Loaded, row: dict[str, Any]) -> leaks.Loss:
    in_g, lost_g = float(row["in_g"]), float(row["lost_g"])
    return leaks.Loss(row["place"], row["session"], in_g, lost_g, uncertainty(loaded, row["log"], in_g))


def uncertainty(loaded: Loaded, log: str, mass_g: float) -> float:
    """Standard uncertainty of one weighing, g: the scale's readability and its share of the reading, in quadrature."""
    scale = loaded.book.scale(log)
    return max(hypot(scale.step_g / 12**0.5, scale.relative * mass_g), 1e-3)


def records(warehouse: Warehouse) -> Records:
    """The rows that hold weighings."""
    ask = warehouse.rows
    return Records(
        harvests=ask("SELECT row, harvest, mass_g FROM harvests ORDER BY row"),
        loads=ask(_LOADS),
        passes=ask("SELECT row, session, pass, mass_in_g, wax_out_g, residue_g FROM passes ORDER BY row"),
        steps=ask(_STEPS),
        blocks=ask("SELECT row, block, session, mass_g FROM blocks ORDER BY row"),
        draws=ask("SELECT row, block, date, mass_g FROM draws ORDER BY row"),
        stocktakes=ask("SELECT row, date, item_kind, item, mass_g FROM stocktake_items ORDER BY row"),
        unweighed_pours=[r["date"] for r in ask("SELECT date FROM assumed_draws ORDER BY date")],
    )


class _Cells:
    """What stands in the mass cells of a book's files."""

    def __init__(self, loaded: Loaded) -> None:
        self._loaded = loaded
        texts = {log: f for log, f in loaded.reading.files.items() if f.suffix.lower() not in (".xlsx", ".ods")}
        self._logs = {log: TypedCells(file) for log, file in texts.items()}

    def typed(self, weight: Weight) -> Typed:
        """The text and unit of a weight; where the file cannot say, the weight as the book shows it."""
        mass_g, default = weight.mass_g or 0.0, self._loaded.book.show.mass
        line = self._loaded.reading.lines(weight.log, {weight.row}).get(weight.row)
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
    warehouse.execute(
        "CREATE OR REPLACE TEMP TABLE reconciled (log VARCHAR, cell INTEGER, column_name VARCHAR, mass DOUBLE)"
    )
    warehouse.insert("reconciled", [(w.log, w.row, w.column, g) for w, g in found.verdict.masses.items()])
    for log, column in sorted({(w.log, w.column) for w in found.verdict.masses}):
        warehouse.execute(
            f'UPDATE "{log}" SET "{column}_g" = mass::DECIMAL(18, 6) FROM reconciled '
            f"WHERE log = '{log}' AND column_name = '{column}' AND cell = \"{log}\".row"
        )
    warehouse.run(warehouse.in_order(queries("models")))
    return found


def judged(loaded: Loaded) -> Trend:
    """The trend of a book."""
    ask, book = loaded.warehouse.rows, loaded.book
    won = [trend.Won(r["season"], r["comb"], r["method"], float(r["loaded_g"]), float(r["wax_g"])) for r in ask(_WON)]
    raw = _by_season(ask("SELECT season, yield AS share FROM yields_by_season WHERE season IS NOT NULL"))
    losses = _by_season(ask(f"SELECT season, loss AS share FROM ({_REFINING})"))
    steps = [
        control.Step(r["session"], r["pass"], r["date"], r["stage"], r["method"], r["comb"], r["loss"])
        for r in ask(_CHARTED)
    ]
    found = trend.seasons(won, raw, losses)
    charts = tuple(control.charts(steps, book.changes))
    return Trend(found.rows, found.slope, found.least_squares, found.changes, found.whole, found.verdict, charts)


def _by_season(rows: list[dict[str, Any]]) -> dict[str, float | None]:
    return {r["season"]: r["share"] for r in rows}
