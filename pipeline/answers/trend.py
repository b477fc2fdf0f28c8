"""Whether rendering gets better or worse: the sums and losses of a loaded book handed to their analyses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from math import isnan
from typing import Any

import numpy as np
import numpy.typing as npt

from pipeline.analyses import (
    control_limits,
    filters_keeping_wax,
    last_season_against_earlier,
    seasons_at_fixed_mix,
    trend_claims,
)
from pipeline.analyses.control_limits import Chart, Signal
from pipeline.analyses.last_season_against_earlier import Sums
from pipeline.analyses.season_slope import FEWEST_FOR_A_CLAIM
from pipeline.analyses.seasons_at_fixed_mix import Change, SeasonRow, Seasons
from pipeline.analyses.trend_claims import Claim
from pipeline.answers.yields import READS, yields
from pipeline.database.connection import Row
from pipeline.database.shipped_queries import query
from pipeline.database.tables_a_query_reads import read_by
from pipeline.flow import Loaded
from pipeline.wording import season_and_loss_sentences, trend_claim_sentences
from pipeline.wording.amounts import PLAIN, Units

Array = npt.NDArray[Any]
Mark = tuple[date, str]

_WON = "yields_by_season_comb_and_method"
"""The model that seasons are compared by."""

LATEST = 1000
"""A report of a bigger book asks the rules of so many of the latest passes of each kind."""


@dataclass(frozen=True, slots=True)
class Trend:
    """Season by season, and pass by pass: the seasons with their changes and slope, and a control chart for each kind of pass.

    ``claims``: every statement that something changed or is out of the usual; nobody makes another.
    """

    seasons: Seasons
    charts: tuple[Chart, ...]
    claims: tuple[Claim, ...]
    units: Units

    def told(self, kind: str | None = None) -> tuple[str, ...]:
        """The claims as sentences, all or those of one kind."""
        return tuple(trend_claim_sentences.text(c, self.units) for c in self.claims if kind in (None, c.kind))

    def in_json(self) -> dict[str, Any]:
        """For other programs; shares."""
        t = self.seasons
        return {
            "seasons": [_season(s) for s in t.rows],
            "slope": _line(t.slope),
            "least_squares": {k: v for k, v in _line(t.least_squares).items() if k not in _OF_SLOPE},
            "limits": [_limits(c) for c in self.charts],
            "signals": [_signal(c, s) for c in self.charts for s in c.signals],
            "change": [_change(c) for c in t.changes],
            "whole": None if t.whole is None else _change(t.whole),
            "verdict": season_and_loss_sentences.verdict(t, PLAIN),
            "claims": [
                {"kind": c.kind, "text": trend_claim_sentences.text(c, self.units), "p": c.p} for c in self.claims
            ],
        }


def reads() -> frozenset[str]:
    """The tables that it asks."""
    names = (
        "refining_log_odds_by_season",
        "unaccounted_by_filter",
        "refining_loss_by_season",
        "losses_for_control_charts",
    )
    return frozenset(read_by(query("answers/queries", name) for name in names)).union(READS, [_WON])


def trend(loaded: Loaded, latest_signals: int | None = None) -> Trend:
    """Whether rendering gets better or worse; the rules are asked of all passes, or of so many of the latest of each kind."""
    won = loaded.warehouse.rows(f"FROM {_WON} ORDER BY season, comb NULLS LAST, method NULLS LAST")
    by_season, by_pass = _seasons(loaded, won), tuple(charts(loaded, latest_signals))
    kept = trend_claims.held(_candidates(loaded, won, by_season, by_pass))
    by_season = by_season.claiming(frozenset(c.kind for c in kept))
    return Trend(by_season, by_pass, kept, Units.of(loaded.book))


def _candidates(loaded: Loaded, won: Sequence[Row], by_season: Seasons, by_pass: Sequence[Chart]) -> list[Claim]:
    """All that could be claimed: one family; ``won``: rows of yields_by_season_comb_and_method."""
    warehouse, line = loaded.warehouse, by_season.slope
    melted = [Sums((r["comb"], r["method"]), r["season"], *_told(r)) for r in won]
    refined = [
        Sums((r["method"], r["filter"]), r["season"], r["n"], r["odds"], r["odds2"], r["shares"])
        for r in warehouse.ask("refining_log_odds_by_season")
    ]
    found = []
    for kind, sums in (("season", melted), ("refining", refined)):
        if (shift := last_season_against_earlier.shift(sums)) is not None:
            found.append(Claim(kind, shift.p, shift))
    years = sum(r.yield_fixed_mix is not None for r in by_season.rows)
    if line is not None and line.p is not None and years >= FEWEST_FOR_A_CLAIM:
        found.append(Claim("slope", line.p, line))
    lost = [
        filters_keeping_wax.Losses(r["filter"], r["method"], np.array(r["shares"]))
        for r in warehouse.ask("unaccounted_by_filter")
    ]
    return [
        *found,
        *trend_claims.outlying(by_pass),
        *(Claim("leak", leak.p, leak) for leak in filters_keeping_wax.leaks(lost)),
    ]


def _told(row: Row) -> tuple[int, float, float, float]:
    return row["told"], float(row["odds"]), float(row["odds2"]), float(row["told_yields"])


def _seasons(loaded: Loaded, won: Sequence[Row]) -> Seasons:
    """Season by season: yields, at a fixed mix of comb too, losses, what each change was made of, and the slope."""
    raw = {r["season"]: r["yield"] for r in yields(loaded, "season").rows if r["season"] is not None}
    losses = {r["season"]: r["loss"] for r in loaded.warehouse.ask("refining_loss_by_season")}
    return seasons_at_fixed_mix.seasons([_won(r) for r in won], raw, losses)


def charts(loaded: Loaded, latest_signals: int | None = None) -> list[Chart]:
    """The control charts of all steps; the rules asked of all, or of so many of the latest of each kind."""
    warehouse, found = loaded.warehouse, loaded.warehouse.columns("losses_for_control_charts")
    steps = [_in_order(*one) for one in zip(*(found[k] for k in ("dates", "rows", "losses", "us")), strict=True)]
    if not steps:
        return []
    dates, rows, losses, _ = (np.concatenate(column) for column in zip(*steps, strict=True))

    def named(places: Sequence[int]) -> list[control_limits.ChartedPass]:
        day, row, loss = (column[places].tolist() for column in (dates, rows, losses))
        names = {r["row"]: (r["session"], r["pass"]) for r in warehouse.ask("pass_names", [row])}
        return [
            control_limits.ChartedPass(*names[r], d, None if isnan(x) else x)
            for r, d, x in zip(row, day, loss, strict=True)
        ]

    kinds: list[control_limits.KindOfPass] = []
    place = 0
    named_kinds = zip(*(found[name].tolist() for name in ("stage", "method", "comb")), strict=True)
    for (stage, method, comb), (days, _, mine, us) in zip(named_kinds, steps, strict=True):
        for since, begin, end in _eras(days, sorted(loaded.book.changes.items())):
            kinds.append(
                control_limits.KindOfPass(stage, method, comb, since, place + begin, mine[begin:end], us[begin:end])
            )
        place += len(days)
    return control_limits.charts(kinds, named, latest_signals)


def _eras(days: Array, marks: Sequence[Mark]) -> Iterator[tuple[Mark | None, int, int]]:
    """The runs between marked changes, those without a step left out: the change each starts from, begin and end."""
    ends = np.searchsorted(days, np.array([day for day, _ in marks], "datetime64[D]")).tolist()
    for since, begin, end in zip([None, *marks], [0, *ends], [*ends, len(days)], strict=True):
        if begin < end:
            yield since, begin, end


def _in_order(dates: Array, rows: Array, losses: Array, us: Array) -> tuple[Array, Array, Array, Array]:
    """The steps of one kind by day, those of one day as they stand in the log."""
    order = np.lexsort((rows, dates))
    return dates[order].astype("datetime64[D]"), rows[order], losses[order], us[order]


def _won(row: Row) -> seasons_at_fixed_mix.Won:
    sums = {k: float(row[k]) for k in ("loaded_g", "wax_g", "loaded_g2", "yields", "yields2")}
    return seasons_at_fixed_mix.Won(
        season=row["season"], comb=row["comb"], method=row["method"], sessions=row["sessions"], **sums
    )


_OF_SLOPE = ("s", "z", "exact")


def _season(s: SeasonRow) -> dict[str, Any]:
    fixed = {"yield_fixed_mix": s.yield_fixed_mix, "borrowed": s.borrowed}
    return {"season": s.season, "yield": s.yield_share, **fixed, "loss": s.loss}


def _signal(c: Chart, s: Signal) -> dict[str, Any]:
    named = {"session": s.session, "pass": s.number, "rule": s.rule, "grade": s.grade}
    return {**named, "stage": c.stage, "method": c.method, "comb": c.comb}


def _change(c: Change) -> dict[str, Any]:
    parts = {"comb": c.split.comb, "method": c.split.method, "rendering": c.split.rendering}
    whole = {"from": c.before, "to": c.after, "total": c.total, "mix": c.mix, "rate": c.rate}
    return {
        **whole,
        "parts": parts,
        "kinds": c.split.kinds,
        "rate_u": c.rate_u,
        "sentence": season_and_loss_sentences.change(c, PLAIN),
    }


def _line(line: Any) -> dict[str, Any]:
    return asdict(line) if line is not None else {"per_season": None, "low": None, "high": None, "p": None}


def _limits(c: Chart) -> dict[str, Any]:
    figures = {"n": c.n, "centre": c.centre, "lower": c.lower, "upper": c.upper, "state": c.state}
    since = c.since[0] if c.since else None
    return {"stage": c.stage, "method": c.method, "comb": c.comb, **figures, "since": since}
