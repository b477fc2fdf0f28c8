"""Whether rendering gets better or worse: the sums and losses of a loaded book handed to their analyses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.analyses import control, trend
from pipeline.analyses.control import Chart, Signal
from pipeline.analyses.slope import Line
from pipeline.analyses.trend import Change, SeasonRow
from pipeline.flow import Loaded

LATEST = 1000
"""A report of a bigger book asks the rules of so many of the latest passes of each kind."""

_CHARTED = """
CREATE OR REPLACE TEMP TABLE charted AS
SELECT row_number() OVER () - 1 AS place, * FROM (
    SELECT s.stage, s.method, if(s.stage = 'first', c.comb, NULL) AS comb,
        (SELECT count(*) FROM changes AS m WHERE m.date <= s.date) AS era, s.session, s.pass, s.date, s.loss
    FROM pass_steps AS s LEFT JOIN session_combs AS c USING (session)
    JOIN passes AS p ON p.session = s.session AND p.pass = s.pass
    ORDER BY s.stage, s.method, comb NULLS LAST, era, s.date, p.row)
"""
_KINDS = """
SELECT stage, method, comb, era, min(place) AS place, count(*) AS steps FROM charted GROUP BY ALL ORDER BY place
"""
_NAMED = """
SELECT session, pass, date, loss FROM charted WHERE place IN (SELECT unnest($1::BIGINT[])) ORDER BY place
"""
_WON = """
SELECT c.season, c.comb, coalesce(o.method, c.method) AS method,
    sum(c.loaded_g) AS loaded_g, sum(c.wax_g) AS wax_g, count(*) FILTER (c.loaded_g > 0) AS sessions,
    coalesce(sum((c.loaded_g::DOUBLE ** 2)::DECIMAL(38, 6)) FILTER (c.loaded_g > 0), 0) AS loaded_g2,
    coalesce(sum((c.wax_g::DOUBLE / nullif(c.loaded_g, 0)::DOUBLE)::DECIMAL(38, 15)) FILTER (c.loaded_g > 0), 0) AS yields,
    coalesce(sum(((c.wax_g::DOUBLE / nullif(c.loaded_g, 0)::DOUBLE) ** 2)::DECIMAL(38, 15)) FILTER (c.loaded_g > 0), 0) AS yields2
FROM comb_yields AS c LEFT JOIN session_yields AS o ON o.session = c.origin
WHERE c.season IS NOT NULL AND (c.loaded_g > 0 OR c.wax_g > 0)
GROUP BY ALL ORDER BY c.season, c.comb NULLS LAST, method NULLS LAST
"""
_REFINING = """
SELECT season, 1 - sum(wax_g)::DOUBLE / nullif(sum(in_g), 0)::DOUBLE AS loss
FROM losses_by_season WHERE stage = 'refining' AND season IS NOT NULL GROUP BY season ORDER BY season
"""


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
    ask = loaded.warehouse.rows
    won = [_won(r) for r in ask(_WON)]
    raw = _by_season(ask("SELECT season, yield AS share FROM yields_by_season WHERE season IS NOT NULL"))
    losses = _by_season(ask(f"SELECT season, loss AS share FROM ({_REFINING})"))
    found = trend.seasons(won, raw, losses)
    charts = tuple(_charts(loaded, latest_signals))
    return Trend(found.rows, found.slope, found.least_squares, found.changes, found.whole, found.verdict, charts)


def _charts(loaded: Loaded, latest_signals: int | None) -> list[Chart]:
    """The control charts of all steps; only those that a chart names leave the database one by one."""
    warehouse, marks = loaded.warehouse, sorted(loaded.book.changes.items())
    warehouse.execute(_CHARTED)
    losses = warehouse.frame("SELECT loss FROM charted ORDER BY place")["loss"].to_numpy("float64")

    def kind(r: dict[str, Any]) -> control.Kind:
        since = marks[r["era"] - 1] if r["era"] else None
        mine = losses[r["place"] : r["place"] + r["steps"]]
        return control.Kind(r["stage"], r["method"], r["comb"], since, r["place"], mine)

    def named(places: Sequence[int]) -> list[control.Step]:
        rows = warehouse.rows(_NAMED, [list(places)])
        return [control.Step(r["session"], r["pass"], r["date"], r["loss"]) for r in rows]

    return control.charts([kind(r) for r in warehouse.rows(_KINDS)], named, latest_signals)


def _won(row: dict[str, Any]) -> trend.Won:
    sums = {k: float(row[k]) for k in ("loaded_g", "wax_g", "loaded_g2", "yields", "yields2")}
    return trend.Won(season=row["season"], comb=row["comb"], method=row["method"], sessions=row["sessions"], **sums)


def _by_season(rows: list[dict[str, Any]]) -> dict[str, float | None]:
    return {r["season"]: r["share"] for r in rows}
