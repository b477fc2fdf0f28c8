"""Whether rendering gets better or worse: the sums and losses of a loaded book handed to their analyses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from math import isnan
from typing import Any

import numpy as np
import numpy.typing as npt

from pipeline.analyses import control_limits, season_changes
from pipeline.analyses.control_limits import Chart
from pipeline.analyses.season_changes import Seasons
from pipeline.answers import figures
from pipeline.flow import Loaded

Array = npt.NDArray[Any]
Mark = tuple[date, str]

LATEST = 1000
"""A report of a bigger book asks the rules of so many of the latest passes of each kind."""


def seasons(loaded: Loaded) -> Seasons:
    """Season by season: yields, at a fixed mix of comb too, losses, what each change was made of, and the slope."""
    warehouse = loaded.warehouse
    won = [_won(r) for r in warehouse.ask("comb_won")]
    raw = {r["season"]: r["yield"] for r in figures.yields(warehouse, "season") if r["season"] is not None}
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
