"""Whether rendering gets better or worse: the sums and losses of a loaded book handed to their analyses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from math import isnan
from typing import Any

import numpy as np
import numpy.typing as npt

from pipeline.analyses import control_limits, season_changes
from pipeline.analyses.control_limits import Chart, Signal
from pipeline.analyses.season_changes import Change, SeasonRow, Seasons
from pipeline.answers.yields import yields
from pipeline.flow import Loaded
from pipeline.wording import season_sentences
from pipeline.wording.amounts import PLAIN

Array = npt.NDArray[Any]
Mark = tuple[date, str]

LATEST = 1000
"""A report of a bigger book asks the rules of so many of the latest passes of each kind."""


@dataclass(frozen=True, slots=True)
class Trend:
    """Season by season, and pass by pass: the seasons with their changes and slope, and a control chart for each kind of pass."""

    seasons: Seasons
    charts: tuple[Chart, ...]

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
            "verdict": season_sentences.verdict(t, PLAIN),
        }


def trend(loaded: Loaded, latest_signals: int | None = None) -> Trend:
    """Whether rendering gets better or worse; the rules are asked of all passes, or of so many of the latest of each kind."""
    return Trend(seasons(loaded), tuple(charts(loaded, latest_signals)))


def seasons(loaded: Loaded) -> Seasons:
    """Season by season: yields, at a fixed mix of comb too, losses, what each change was made of, and the slope."""
    warehouse = loaded.warehouse
    won = [_won(r) for r in warehouse.ask("comb_won")]
    raw = {r["season"]: r["yield"] for r in yields(loaded, "season").rows if r["season"] is not None}
    losses = {r["season"]: r["loss"] for r in warehouse.ask("refining_losses")}
    return season_changes.seasons(won, raw, losses)


def charts(loaded: Loaded, latest_signals: int | None = None) -> list[Chart]:
    """The control charts of all steps; the rules asked of all, or of so many of the latest of each kind."""
    warehouse, found = loaded.warehouse, loaded.warehouse.columns("charted")
    steps = [_in_order(*one) for one in zip(found["dates"], found["rows"], found["losses"], strict=True)]
    if not steps:
        return []
    dates, rows, losses = (np.concatenate(column) for column in zip(*steps, strict=True))

    def named(places: Sequence[int]) -> list[control_limits.Step]:
        day, row, loss = (column[places].tolist() for column in (dates, rows, losses))
        names = {r["row"]: (r["session"], r["pass"]) for r in warehouse.ask("pass_names", [row])}
        return [
            control_limits.Step(*names[r], d, None if isnan(x) else x) for r, d, x in zip(row, day, loss, strict=True)
        ]

    kinds: list[control_limits.Kind] = []
    place = 0
    named_kinds = zip(*(found[name].tolist() for name in ("stage", "method", "comb")), strict=True)
    for (stage, method, comb), (days, _, mine) in zip(named_kinds, steps, strict=True):
        for since, begin, end in _eras(days, sorted(loaded.book.changes.items())):
            kinds.append(control_limits.Kind(stage, method, comb, since, place + begin, mine[begin:end]))
        place += len(days)
    return control_limits.charts(kinds, named, latest_signals)


def _eras(days: Array, marks: Sequence[Mark]) -> Iterator[tuple[Mark | None, int, int]]:
    """The runs between marked changes, those without a step left out: the change each starts from, begin and end."""
    ends = np.searchsorted(days, np.array([day for day, _ in marks], "datetime64[D]")).tolist()
    for since, begin, end in zip([None, *marks], [0, *ends], [*ends, len(days)], strict=True):
        if begin < end:
            yield since, begin, end


def _in_order(dates: Array, rows: Array, losses: Array) -> tuple[Array, Array, Array]:
    """The steps of one kind by day, those of one day as they stand in the log."""
    order = np.lexsort((rows, dates))
    return dates[order].astype("datetime64[D]"), rows[order], losses[order]


def _won(row: dict[str, Any]) -> season_changes.Won:
    sums = {k: float(row[k]) for k in ("loaded_g", "wax_g", "loaded_g2", "yields", "yields2")}
    return season_changes.Won(
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
        "sentence": season_sentences.change(c, PLAIN),
    }


def _line(line: Any) -> dict[str, Any]:
    return asdict(line) if line is not None else {"per_season": None, "low": None, "high": None, "p": None}


def _limits(c: Chart) -> dict[str, Any]:
    figures = {"n": c.n, "centre": c.centre, "lower": c.lower, "upper": c.upper, "state": c.state}
    since = c.since[0] if c.since else None
    return {"stage": c.stage, "method": c.method, "comb": c.comb, **figures, "since": since}
