"""Weights that do not fit, and the trend: the tables of a loaded book handed to their analyses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import hypot
from typing import Any

from pipeline.analyses import control, leaks, trend
from pipeline.analyses.control import Chart
from pipeline.analyses.leaks import Leak
from pipeline.analyses.slips import GRAMS, Typed, grams
from pipeline.analyses.steps import Records, balances
from pipeline.analyses.suspects import Pen, Suspect, Verdict, suspects
from pipeline.analyses.trend import Seasons
from pipeline.analyses.weighings import Weight, weighed
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


@dataclass(frozen=True)
class Fit:
    """How a book's weighings fit together; masses in g."""

    loaded: Loaded
    verdict: Verdict
    leaks: tuple[Leak, ...]

    def line(self, log: str, row: int | None) -> int | None:
        """The physical line of a row; None for a row that is missing."""
        return None if row is None else self.loaded.reading.lines(log, {row}).get(row)

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """The weights that do not fit, most likely first."""
        return self.verdict.suspects


@dataclass(frozen=True, slots=True)
class Trend:
    """Seasons with their changes, and the control charts of the steps."""

    seasons: Seasons
    charts: tuple[Chart, ...]


def fit(loaded: Loaded) -> Fit:
    """Balance every weighing of the book and look for slips and leaks."""
    book, warehouse = loaded.book, loaded.warehouse
    found = weighed(balances(records(warehouse)), lambda log, mass_g: uncertainty(loaded, log, mass_g))
    pen = Pen(_Cells(loaded).typed, book.vessels, lambda log: book.scale(log).step_g)
    verdict = suspects(found, pen)
    slipped = {s.session for s in verdict.suspects}
    losses = [
        leaks.Loss(r["place"], r["session"], float(r["in_g"]), float(r["lost_g"]), uncertainty(loaded, r["log"], float(r["in_g"])))
        for r in warehouse.rows(_LOST) if r["session"] not in slipped
    ]  # fmt: skip
    return Fit(loaded, verdict, tuple(leaks.leaks(losses)))


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
    warehouse.execute("CREATE OR REPLACE TEMP TABLE reconciled (log VARCHAR, cell INTEGER, column_name VARCHAR, mass DOUBLE)")
    warehouse.insert("reconciled", [(w.log, w.row, w.column, g) for w, g in found.verdict.masses.items()])
    for log, column in sorted({(w.log, w.column) for w in found.verdict.masses}):
        warehouse.execute(
            f'UPDATE "{log}" SET "{column}_g" = mass::DECIMAL(18, 6) FROM reconciled '
            f"WHERE log = '{log}' AND column_name = '{column}' AND cell = \"{log}\".row"
        )
    warehouse.run(warehouse.in_order(queries("models")))
    return found


def judged(warehouse: Warehouse, changes: dict[date, str]) -> Trend:
    """The trend of a book."""
    ask = warehouse.rows
    won = [
        trend.Won(r["season"], r["comb"], r["method"], float(r["loaded_g"]), float(r["wax_g"])) for r in ask(_WON)
    ]
    raw = _by_season(ask("SELECT season, yield AS share FROM yields_by_season WHERE season IS NOT NULL"))
    losses = _by_season(ask(f"SELECT season, loss AS share FROM ({_REFINING})"))
    steps = [
        control.Step(r["session"], r["pass"], r["date"], r["stage"], r["method"], r["comb"], r["loss"])
        for r in ask(_CHARTED)
    ]
    return Trend(trend.seasons(won, raw, losses), tuple(control.charts(steps, changes)))


def _by_season(rows: list[dict[str, Any]]) -> dict[str, float | None]:
    return {r["season"]: r["share"] for r in rows}
