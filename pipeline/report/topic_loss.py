"""Where is wax being lost, and is that getting better or worse? By kind of pass, season by season, pass by pass."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pipeline.report import words
from pipeline.report.amounts import Units, count, plural, share, share_cell, visible
from pipeline.report.asking import Row, ask, shown
from pipeline.report.charts_loss import Control, LossBar, control_charts, loss_bars
from pipeline.report.page_data import Column, Panel, Picture, Section, Table
from pipeline.warehouse import Warehouse

STAGES = {"first": "first melt", "refining": "refining"}
DRAWN = 6
"""Kinds of pass drawn one by one; the table has them all."""
LAST = 40
"""Passes drawn of one kind, the latest."""


def section(warehouse: Warehouse, units: Units, trend: Any = None) -> Section:
    """The section on losses; ``trend`` is the analysis with control limits, None where it is not there."""
    rows = ask(warehouse, "losses")
    refining = [(str(r["season"]), r["loss"]) for r in ask(warehouse, "refining") if r["loss"] is not None]
    panels = [_losses_panel(rows, refining, units, warehouse)]
    if trend is not None:
        panels.append(_control_panel(trend, units))
    return Section("losses", "Where is wax lost, and is it getting better?", tuple(panels))


def _losses_panel(
    rows: Sequence[Row], refining: Sequence[tuple[str, float]], units: Units, warehouse: Warehouse
) -> Panel:
    known = [r for r in rows if r["loss"] is not None]
    fine = [r for r in known if r["stage"] == "refining"]
    worst = max(fine, key=lambda r: r["loss"], default=None)
    sentence = words.losses(refining, (visible(worst["method"]), worst["loss"]) if worst and len(fine) > 1 else None)
    if not known:
        return Panel("losses", sentence)
    bars = [LossBar(_kind(r), r["residue_g"] / r["in_g"], r["unaccounted_g"] / r["in_g"]) for r in known[:10]]
    says = "Bars of what is lost: " + "; ".join(f"{_kind(r)} {share(r['loss'])}" for r in known[:10]) + "."
    picture = Picture("losses", "What each kind of pass loses", says, loss_bars(bars))
    method = (
        "Loss is 1 − wax out / mass in, sums over passes as weighed; residue is what was weighed of it, the rest is "
        "unaccounted (below none where wet slumgum holds water). Most of a first melt’s loss is cocoons, honey and water, "
        "so it stands apart from refining. Refining usually loses 1–6 % (common practice, no source)."
    )
    key = (("residue", "slumgum and dregs weighed"), ("unknown", "unaccounted: water, honey, spills"))
    return Panel("losses", sentence, picture, _table(known, units), method=method, queries=shown("losses", "refining"),
                 extra=(_seasons_table(ask(warehouse, "refining"), units),), key=key, about="losses")  # fmt: skip


def _kind(row: Row) -> str:
    return f"{visible(row['method'])}, {STAGES[row['stage']]}"


def _table(rows: Sequence[Row], units: Units) -> Table:
    masses = [Column(f"{word}, {units.mass}") for word in ("in", "wax out", "residue", "unaccounted")]
    heads = (Column("kind of pass", figures=False), Column("passes"), *masses, Column("loss, %"))
    cells = tuple(
        (_kind(r), count(r["steps"]), *(units.mass_cell(r[k]) for k in ("in_g", "wax_g", "residue_g", "unaccounted_g")),
         share_cell(r["loss"]))
        for r in rows[:14]
    )  # fmt: skip
    more = f"and {plural(len(rows) - 14, 'kind')} more: combtally losses --by method" if len(rows) > 14 else ""
    return Table("Losses by method and stage", heads, cells, more)


def _seasons_table(rows: Sequence[Row], units: Units) -> Table:
    heads = (
        Column("season", figures=False),
        Column("passes"),
        Column(f"in, {units.mass}"),
        Column(f"lost, {units.mass}"),
        Column("loss, %"),
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


def _control_panel(trend: Any, units: Units) -> Panel:
    kinds = sorted(trend.limits, key=lambda k: (k.stage != "refining", -k.n, k.method, k.comb or ""))
    graded = {(s.session, s.number): s.grade for s in trend.signals}
    watched = [k for k in kinds if k.state != "none"]
    loud = sum(s.grade == "signal" for s in trend.signals)
    sentence = words.control(loud, len(trend.signals) - loud, len(watched))
    if not watched:
        return Panel("control", sentence)
    drawn = [_control(k, graded) for k in watched[:DRAWN]]
    wide, narrow = control_charts(drawn)
    says = "; ".join(
        f"{k.name}: {len(k.passes)} passes around {share(k.centre)}, limits {share(k.lower)} to {share(k.upper)}"
        for k in drawn
    )
    picture = Picture(
        "control", "Loss of each pass, % of what went in, with its usual limits", says + ".", wide, narrow
    )
    method = (
        "Individuals charts with the mean moving range (limits at 2.66 times it, NIST/SEMATECH e-Handbook 6.3.2.2) and the four "
        "Western Electric rules; no limits below 6 passes, dashed and provisional up to 14; limits start anew where the book "
        "marks a change."
    )
    key = (
        ("wax", "a pass"),
        ("unknown", "square: in a run worth a look; lines: limits"),
        ("alarm", "diamond: beyond the limits"),
    )
    return Panel(
        "control", sentence, picture, _limits_table(kinds, units), method=method, key=key, about="control charts"
    )


def _control(kind: Any, graded: dict[tuple[str, int], str]) -> Control:
    passes = tuple((p.date, p.loss, graded.get((p.session, p.number), "")) for p in kind.points[-LAST:])
    return Control(_limit_name(kind), passes, kind.centre, kind.lower, kind.upper, kind.state)


def _limit_name(kind: Any) -> str:
    comb = f", {visible(kind.comb)}" if kind.comb else ""
    return f"{visible(kind.method)}, {STAGES[kind.stage]}{comb}"


def _limits_table(kinds: Sequence[Any], units: Units) -> Table:
    del units
    heads = (Column("kind of pass", figures=False), Column("passes"), Column("centre, %"), Column("lower, %"), Column("upper, %"),
             Column("limits", figures=False))  # fmt: skip
    cells = tuple(
        (_limit_name(k), count(k.n), share_cell(k.centre), share_cell(k.lower), share_cell(k.upper), k.state)
        for k in kinds[:12]
    )
    more = f"and {plural(len(kinds) - 12, 'kind')} more: combtally trend" if len(kinds) > 12 else ""
    return Table("Limits of loss", heads, cells, more)
