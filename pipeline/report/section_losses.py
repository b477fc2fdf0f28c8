"""Where is wax being lost, and is that getting better or worse? By kind of pass, season by season, pass by pass."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import partial

from pipeline.analyses.control_limits import Chart, Signal
from pipeline.answers.trend import LATEST, Trend
from pipeline.database.connection import Warehouse
from pipeline.report.charts_loss import Control, LossBar, control_charts, loss_bars
from pipeline.report.page_dataclasses import Panel, Picture, Section, Table, TableColumn
from pipeline.report.page_queries import Row, ask, shown
from pipeline.wording import forecast_doubt_sentences, season_and_loss_sentences
from pipeline.wording.amounts import Units, count, plural, share, share_cell
from pipeline.wording.visible_text import visible

STAGES = {"first": "first melt", "refining": "refining"}
DRAWN = 6
"""Kinds of pass drawn one by one; the table has them all."""
LAST = 40
"""Passes drawn of one kind, the latest."""


def section(warehouse: Warehouse, units: Units, trend: Trend) -> Section:
    """The section on losses, with the control charts of the book's passes and what is claimed of them."""
    rows = ask(warehouse, "losses")
    refining = ask(warehouse, "refining")
    panels = (_losses_panel(rows, refining, units, trend), _control_panel(trend.charts, trend.told("limit")))
    return Section("loss", "Where is wax lost, and is it getting better?", panels)


def _losses_panel(rows: Sequence[Row], refining: Sequence[Row], units: Units, trend: Trend) -> Panel:
    claims = tuple(visible(text) for kind in ("refining", "leak") for text in trend.told(kind))
    known = [r for r in rows if r["loss"] is not None]
    fine = [r for r in known if r["stage"] == "refining"]
    worst = max(fine, key=lambda r: r["loss"], default=None)
    by_season = [(str(r["season"]), r["in_g"], r["lost_g"]) for r in refining if r["loss"] is not None]
    most = (visible(worst["method"]), worst["loss"]) if worst and len(fine) > 1 else None
    sentence = season_and_loss_sentences.losses(by_season, most, units, "refining" in trend.seasons.claims)
    if not known:
        return Panel("losses", sentence)
    bars = [LossBar(_kind(r), r["residue_g"] / r["in_g"], r["unaccounted_g"] / r["in_g"]) for r in known[:10]]
    says = "Bars of what is lost: " + "; ".join(f"{_kind(r)} {share(r['loss'])}" for r in known[:10]) + "."
    picture = Picture("losses", "What each kind of pass loses", says, partial(loss_bars, bars))
    method = (
        "What went into a pass and did not come out as wax is its loss; what was weighed of that is residue, the rest is "
        "unaccounted (less than nothing where wet slumgum holds water). Most of a first melt’s loss is cocoons, honey and "
        f"water, so it stands apart from refining, which usually loses {forecast_doubt_sentences.usual_refining_loss(units)} "
        "(common practice, no source). A loss cannot tell wax left in the residue from water. "
        "Method: ratio of sums over the passes as weighed."
    )
    key = (("residue", "residue weighed"), ("unknown", "unaccounted: water, honey, spills"))
    return Panel("losses", sentence, picture, _table(known, units), claims, method=method, queries=shown("losses", "refining"),
                 extra=(_seasons_table(refining, units),), key=key, about="losses")  # fmt: skip


def _kind(row: Row) -> str:
    return f"{visible(row['method'])}, {STAGES[row['stage']]}"


def _table(rows: Sequence[Row], units: Units) -> Table:
    masses = [TableColumn(units.head(word)) for word in ("in", "wax out", "residue", "unaccounted")]
    heads = (TableColumn("kind of pass", figures=False), TableColumn("passes"), *masses, TableColumn("loss, %"))
    cells = tuple(
        (_kind(r), count(r["steps"]), *(units.mass_cell(r[k]) for k in ("in_g", "wax_g", "residue_g", "unaccounted_g")),
         share_cell(r["loss"]))
        for r in rows[:14]
    )  # fmt: skip
    more = f"and {plural(len(rows) - 14, 'kind')} more: combtally losses --by method" if len(rows) > 14 else ""
    return Table("Losses by method and stage", heads, cells, more)


def _seasons_table(rows: Sequence[Row], units: Units) -> Table:
    heads = (
        TableColumn("season", figures=False),
        TableColumn("passes"),
        TableColumn(units.head("in")),
        TableColumn(units.head("lost")),
        TableColumn("loss, %"),
    )
    cells = tuple(
        (
            str(r["season"]),
            count(r["steps"]),
            units.mass_cell(r["in_g"]),
            units.mass_cell(r["lost_g"]),
            share_cell(r["loss"]),
        )
        for r in rows[-12:]
    )
    return Table("Refining, season by season", heads, cells)


def _control_panel(charts: Sequence[Chart], claims: Sequence[str] = ()) -> Panel:
    kinds = sorted(charts, key=lambda c: (c.stage != "refining", -c.steps, c.method, c.comb or ""))
    watched = [c for c in kinds if c.limits.state != "none"]
    fired = [_loudest(c) for c in watched]
    grades = Counter(signal.grade for found in fired for signal in found.values())
    sentence = season_and_loss_sentences.control([visible(c) for c in claims], grades["signal"], len(watched))
    if not watched:
        return Panel("control", sentence)
    drawn = [_control(c, f) for c, f in zip(watched[:DRAWN], fired, strict=False)]
    says = "; ".join(
        f"{k.name}: {len(k.passes)} passes around {share(k.centre)}, limits {share(k.lower)} to {share(k.upper)}"
        for k in drawn
    )
    title = "Loss of each pass, % of what went in, and the limits it usually stays within"
    picture = Picture("control", title, says + ".", partial(control_charts, drawn))
    method = (
        "Each kind of pass is compared with itself: its limits come from how much one pass differs from the next, and hold "
        "nearly all passes if nothing is changed. Limits need 6 passes, are dashed and provisional up to 14, and start anew "
        "where book.toml marks a change. Among many passes some fall outside by chance, so the "
        "sentence names only those that chance cannot make among all "
        "that is asked on this page. Limits say that a pass was unlike the others, not why; a changed scale looks the same. "
        "Method: individuals chart, limits at 2.66 mean moving ranges (NIST/SEMATECH e-Handbook 6.3.2.2), Western Electric rules."
    )
    key = (
        ("wax", "a pass"),
        ("unknown", "square: in a run worth a look; lines: limits"),
        ("alarm", "diamond: outside the limits"),
    )
    extra = (_limits_table(kinds),)
    points = (season_and_loss_sentences.latest_passes(LATEST),) if any(c.steps > LATEST for c in watched) else ()
    return Panel(
        "control",
        sentence,
        picture,
        _signals_table(watched),
        points,
        method=method,
        key=key,
        extra=extra,
        about="control charts",
    )


def _loudest(chart: Chart) -> dict[tuple[str, int], Signal]:
    """The loudest signal of each pass at which a rule fired."""
    quiet_first = sorted(chart.signals, key=lambda s: s.grade == "signal")
    return {(s.session, s.number): s for s in quiet_first}


def _control(chart: Chart, fired: Mapping[tuple[str, int], Signal]) -> Control:
    known = [s for s in chart.points if s.loss is not None][-LAST:]
    grade = {place: signal.grade for place, signal in fired.items()}
    passes = tuple((s.date, s.loss or 0.0, grade.get((s.session, s.number), "")) for s in known)
    lower, upper = _clipped(chart)
    return Control(_limit_name(chart), passes, chart.limits.centre, lower, upper, chart.limits.state)


def _clipped(chart: Chart) -> tuple[float | None, float | None]:
    """The limits inside what a loss can be; for show only."""
    low, high = chart.limits.lower, chart.limits.upper
    return (None if low is None else max(low, 0.0), None if high is None else min(high, 1.0))


def _limit_name(chart: Chart) -> str:
    comb = f", {visible(chart.comb)}" if chart.comb else ""
    since = f", since {chart.since[0].year}" if chart.since else ""
    return f"{visible(chart.method)}, {STAGES[chart.stage]}{comb}{since}"


def _signals_table(charts: Sequence[Chart]) -> Table | None:
    heads = (
        TableColumn("session, pass", figures=False),
        TableColumn("kind of pass", figures=False),
        TableColumn("loss, %"),
        TableColumn("why", figures=False),
    )
    fired = [(signal, chart) for chart in charts for signal in _loudest(chart).values()]
    fired.sort(key=lambda f: (f[0].grade != "signal", -f[0].date.toordinal(), f[0].session, f[0].number))
    rows = tuple(
        (f"{visible(at.session)}, {at.number}", _limit_name(chart), share_cell(at.loss),
         "outside the limits" if at.grade == "signal" else "in a run, worth a look")
        for at, chart in fired[:8]
    )  # fmt: skip
    more = f"and {count(len(fired) - 8)} more: combtally trend" if len(fired) > 8 else ""
    return Table("Passes to look at", heads, rows, more) if rows else None


def _limits_table(kinds: Sequence[Chart]) -> Table:
    heads = (
        TableColumn("kind of pass", figures=False),
        *map(TableColumn, ("passes", "centre, %", "lower, %", "upper, %")),
        TableColumn("limits", figures=False),
    )
    cells = tuple(
        (_limit_name(c), count(c.limits.n), share_cell(c.limits.centre), *map(share_cell, _clipped(c)), c.limits.state)
        for c in kinds[:12]
    )
    more = f"and {plural(len(kinds) - 12, 'kind')} more: combtally trend" if len(kinds) > 12 else ""
    return Table("Limits of loss", heads, cells, more)
