"""Whether rendering gets better or worse: the sums and losses of a loaded book handed to their analyses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pipeline import figures
from pipeline.analyses import control, trend
from pipeline.analyses.control import Chart, Signal
from pipeline.analyses.slope import Line
from pipeline.analyses.trend import Change, SeasonRow
from pipeline.flow import Loaded

LATEST = 1000
"""A report of a bigger book asks the rules of so many of the latest passes of each kind."""


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


def judged(loaded: Loaded, latest_signals: int | None = None) -> Trend:
    """The trend of a book; the rules asked of all passes, or of so many of the latest of each kind."""
    warehouse = loaded.warehouse
    won = [_won(r) for r in warehouse.ask("comb_won")]
    raw = {r["season"]: r["yield"] for r in figures.yields(warehouse, "season") if r["season"] is not None}
    losses = {r["season"]: r["loss"] for r in warehouse.ask("refining_losses")}
    found = trend.seasons(won, raw, losses)
    charts = tuple(_charts(loaded, latest_signals))
    return Trend(found.rows, found.slope, found.least_squares, found.changes, found.whole, found.verdict, charts)


def _charts(loaded: Loaded, latest_signals: int | None) -> list[Chart]:
    """The control charts of all steps; only those that a chart names leave the database one by one."""
    warehouse, marks = loaded.warehouse, sorted(loaded.book.changes.items())
    warehouse.set_aside("charted")
    losses = warehouse.frame("SELECT loss FROM charted ORDER BY place")["loss"].to_numpy("float64")

    def kind(r: dict[str, Any]) -> control.Kind:
        since = marks[r["era"] - 1] if r["era"] else None
        mine = losses[r["place"] : r["place"] + r["steps"]]
        return control.Kind(r["stage"], r["method"], r["comb"], since, r["place"], mine)

    def named(places: Sequence[int]) -> list[control.Step]:
        rows = warehouse.ask("charted_steps", [list(places)])
        return [control.Step(r["session"], r["pass"], r["date"], r["loss"]) for r in rows]

    return control.charts([kind(r) for r in warehouse.ask("charted_kinds")], named, latest_signals)


def _won(row: dict[str, Any]) -> trend.Won:
    sums = {k: float(row[k]) for k in ("loaded_g", "wax_g", "loaded_g2", "yields", "yields2")}
    return trend.Won(season=row["season"], comb=row["comb"], method=row["method"], sessions=row["sessions"], **sums)
