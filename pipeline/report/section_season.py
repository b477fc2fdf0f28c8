"""What did this season give? The stream of its wax, the seasons side by side, the kinds of comb, the latest sessions."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from pipeline.analyses.seasons_at_fixed_mix import Change, Seasons
from pipeline.database.connection import Warehouse
from pipeline.report import section_change
from pipeline.report.charts_flow import Stop, Stream, season_flow, thinned
from pipeline.report.charts_yields import YieldDot, yield_dots
from pipeline.report.page_dataclasses import Panel, Picture, Section, Table, TableColumn
from pipeline.report.page_queries import Row, ask, shown
from pipeline.report.panel_latest_sessions import sessions_panel
from pipeline.wording import season_and_loss_sentences
from pipeline.wording.amounts import Units, count, plural, share, share_cell
from pipeline.wording.visible_text import name, visible

YIELD = (
    "Yield is wax recovered over comb loaded. Wax that went through another session, and slumgum pressed later, count where "
    "their comb was melted first; a season’s yield is all its wax over all its comb. The ± is only what the step of the scale "
    "leaves open; it cannot see honey or water left in the comb, and sessions differ from each other by far more. "
    "* Wax set aside is counted at full weight; the next melt will take a little of it."
)
GUM = " Method: ratio of sums; ± is the standard uncertainty of the weighings (JCGM 100:2008, GUM)."
SAME_COMB = (
    "“Same comb” is the yield that the season would have had with the mix of comb of all seasons together, each kind at the "
    "season’s own yield."
)
MOST = 12
"""Seasons that are drawn and listed one by one; earlier ones are summed up."""


def section(warehouse: Warehouse, units: Units, trend: Seasons | None = None, claims: tuple[str, ...] = ()) -> Section:
    """The section on the season; ``trend`` is the analysis of that name, ``claims`` what it claims of the last season."""
    panels = [_flow_panel(warehouse, units, trend), _seasons_panel(warehouse, units, trend)]
    panels += [
        section_change.panel(trend, units, claims),
        _combs_panel(warehouse, units),
        sessions_panel(warehouse, units),
    ]
    return Section("season", "What did this season give?", tuple(p for p in panels if p))


def figures(warehouse: Warehouse) -> list[season_and_loss_sentences.SeasonFigures]:
    """Every season's figures in order; the last is the season that the page is about."""
    return [
        season_and_loss_sentences.SeasonFigures(
            str(r["season"]), r["loaded_g"] or 0, r["wax_g"] or 0, r["yield"], r["u"], tuple(r["flags"] or ())
        )
        for r in ask(warehouse, "seasons")
    ]


def headline(warehouse: Warehouse, units: Units, trend: Seasons | None = None) -> str:
    """The season in one sentence."""
    known = figures(warehouse)
    now, before = (known[-1] if known else None), (known[-2] if len(known) > 1 else None)
    return season_and_loss_sentences.season(now, before, _last_change(trend, now, before), units)


def _last_change(
    trend: Seasons | None,
    now: season_and_loss_sentences.SeasonFigures | None,
    before: season_and_loss_sentences.SeasonFigures | None,
) -> Change | None:
    if trend is None or now is None or before is None:
        return None
    return next((c for c in trend.changes if (c.before, c.after) == (before.season, now.season)), None)


def _flow_panel(warehouse: Warehouse, units: Units, trend: Seasons | None) -> Panel:
    sentence = headline(warehouse, units, trend)
    flows = ask(warehouse, "season_waterfall")
    if not flows or not flows[0]["loaded_g"]:
        return Panel("flow", sentence)
    row = flows[0]
    stops, streams = _stream(warehouse, row, units)
    chart = partial(season_flow, thinned(stops, streams), units)
    picture = Picture("flow", f"From comb to blocks, season {row['season']}", _flow_says(row, units), chart)
    method = (
        "Every weight is followed as it was weighed. What a pass cannot account for is water, honey, cocoons and spills. The "
        "picture counts wax that one session of the season passed to another once; the table counts it at every load. Both add "
        "up to the gram; neither can tell a spill from a weight that was misread."
    )
    asked = shown("season_waterfall", "season_loads", "season_stages", "season_uses")
    return Panel(
        "flow", sentence, picture, _waterfall(row, units), method=method, queries=asked, about="where the wax went"
    )


_PARTS = (
    ("blocks_g", "blocks cast"), ("passed_on_g", "wax passed on to another session"), ("set_aside_g", "wax set aside"),
    ("residue_g", "residue weighed"), ("unaccounted_g", "unaccounted in the passes"),
    ("handling_g", "lost between passes"), ("casting_g", "left in pots and moulds"),
)  # fmt: skip


def _waterfall(row: Row, units: Units) -> Table:
    heads = (
        TableColumn("where it went", figures=False),
        TableColumn(units.head("mass")),
        TableColumn("% of what was loaded"),
    )
    loaded = row["loaded_g"]
    rows = [
        (units.spelled(name), units.mass_cell(row[key]), share_cell((row[key] or 0) / loaded))
        for key, name in _PARTS
        if key in {"blocks_g", "residue_g", "unaccounted_g"} or row[key]
    ]
    total = ("everything loaded", units.mass_cell(loaded), share_cell(1.0))
    return Table(f"Where the wax of season {row['season']} went", heads, tuple(rows), total=total)


def _flow_says(row: Row, units: Units) -> str:
    parts = ", ".join(f"{units.mass(row[key])} {units.spelled(name)}" for key, name in _PARTS if row[key])
    return f"Flow from comb to blocks: of {units.mass(row['loaded_g'])} loaded in season {row['season']}: {parts}."


def _stream(warehouse: Warehouse, row: Row, units: Units) -> tuple[list[Stop], list[Stream]]:
    """The season's stops and streams; wax that stays inside the season is counted once."""
    loads = ask(warehouse, "season_loads")
    inside = sum(r["mass_g"] or 0 for r in loads if r["part"] == "wax of the season")
    other = sum(r["mass_g"] or 0 for r in loads if r["part"] == "other wax")
    slumgum = sum(r["mass_g"] or 0 for r in loads if r["part"] == "slumgum")
    combs = [
        (visible(r["comb"]) if r["comb"] else "comb not named", r["mass_g"] or 0.0)
        for r in loads
        if r["part"] == "comb"
    ]
    combs = [*combs[:6], *([("other comb", sum(m for _, m in combs[6:]))] if combs[6:] else [])]
    comb = sum(m for _, m in combs) + slumgum
    lost = {r["stage"]: r for r in ask(warehouse, "season_stages")}
    first_losses = [("slumgum", "residue", _of(lost, "first", "residue_g")),
                    ("water, honey …", "unknown", _of(lost, "first", "unaccounted_g"))]  # fmt: skip
    wax = comb - sum(m for _, _, m in first_losses) + other
    ends = [
        ("blocks", "wax", row["blocks_g"] or 0.0, False),
        ("set aside", "aside", row["set_aside_g"] or 0.0, False),
        ("passed on", "aside", max((row["passed_on_g"] or 0.0) - inside, 0.0), False),
        ("residue", "residue", _of(lost, "refining", "residue_g"), True),
        ("unaccounted", "unknown", _of(lost, "refining", "unaccounted_g"), True),
        (units.spelled("pots, moulds"), "work", max((row["handling_g"] or 0.0) + (row["casting_g"] or 0.0), 0.0), True),
    ]
    stops = [Stop(n, 0, "comb", m) for n, m in combs]
    stops += [Stop("slumgum again", 0, "residue", slumgum), Stop("other wax", 0, "wax", other)]
    stops += [Stop("first melt", 1, "comb", comb), Stop("raw wax", 2, "wax", wax)]
    stops += [Stop(n, 2, c, m, low=True) for n, c, m in first_losses]
    stops += [Stop(n, 3, c, m, low) for n, c, m, low in ends]
    streams = [Stream(n, "first melt", m) for n, m in combs] + [Stream("slumgum again", "first melt", slumgum)]
    streams += [Stream("first melt", "raw wax", wax - other), Stream("other wax", "raw wax", other)]
    streams += [Stream("first melt", n, m) for n, _, m in first_losses] + [
        Stream("raw wax", n, m) for n, _, m, _ in ends
    ]
    uses = _uses(warehouse, row["blocks_g"] or 0.0)
    stops += [Stop(n, 4, c, m) for n, c, m in uses]
    return stops, streams + [Stream("blocks", n, m) for n, _, m in uses]


def _uses(warehouse: Warehouse, blocks_g: float) -> list[tuple[str, str, float]]:
    used = [(r["went_to"], r["mass_g"] or 0.0) for r in ask(warehouse, "season_uses") if (r["mass_g"] or 0) > 0]
    left = blocks_g - sum(m for _, m in used)
    drawn = [("for candles" if n == "candles" else n, "candle" if n == "candles" else "work", m) for n, m in used]
    return [*drawn, ("on the shelf", "wax", left)] if left > 0 else drawn


def _of(rows: dict[str, Row], stage: str, key: str) -> float:
    return max(float(rows.get(stage, {}).get(key) or 0.0), 0.0)


def _seasons_panel(warehouse: Warehouse, units: Units, trend: Seasons | None) -> Panel | None:
    known = [s for s in figures(warehouse) if s.value is not None]
    if not known:
        return None
    fixed = {r.season: r.yield_fixed_mix for r in trend.rows} if trend else {}
    recent = known[-MOST:]
    dots = [_dot(s.season, s.value, s.u, beside=fixed.get(s.season)) for s in recent]
    says = _yields_say("season", [(s.season, s.value) for s in recent])
    picture = Picture("seasons", "Yield of each season", says, partial(yield_dots, dots))
    sentence = season_and_loss_sentences.seasons(
        known, trend.slope if trend else None, units, bool(trend and "slope" in trend.claims)
    )
    lent = season_and_loss_sentences.borrowed([(r.season, r.borrowed) for r in trend.rows[-MOST:]] if trend else [])
    return Panel("seasons", sentence, picture, _seasons_table(recent, len(known), units, fixed), (lent,) * bool(lent),
                 method=f"{YIELD} {SAME_COMB}{GUM}", queries=shown("seasons"), key=_ring(fixed),
                 about="the seasons")  # fmt: skip


def _ring(fixed: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    return (
        (("wax", "yield, with its interval"), ("comb", "ring: the same comb every season"))
        if any(fixed.values())
        else ()
    )


def _seasons_table(
    recent: Sequence[season_and_loss_sentences.SeasonFigures], n: int, units: Units, fixed: dict[str, float | None]
) -> Table:
    heads = [
        TableColumn("season", figures=False),
        TableColumn(units.head("comb")),
        TableColumn(units.head("wax")),
        TableColumn("yield, %"),
        TableColumn("±, %"),
    ]
    heads += [TableColumn("same comb, %")] if fixed else []
    rows = []
    for s in recent:
        cells = [
            s.season,
            units.mass_cell(s.loaded_g),
            units.mass_cell(s.wax_g),
            _star(share_cell(s.value), s.flags),
            units.spread_cell(s.u),
        ]
        cells += [share_cell(fixed.get(s.season))] if fixed else []
        rows.append(tuple(cells))
    more = (
        f"{plural(n - len(recent), 'earlier season')} not listed: combtally yields --by season has them all."
        if n > len(recent)
        else ""
    )
    return Table("Seasons side by side", tuple(heads), tuple(rows), more)


def _combs_panel(warehouse: Warehouse, units: Units) -> Panel | None:
    rows = [r for r in ask(warehouse, "combs") if r["yield"] is not None]
    if not rows:
        return None
    drawn = rows[:10]
    dots = [_dot(name(r["comb"]), r["yield"], r["u"], usual=(r["low_share"], r["high_share"])) for r in drawn]
    picture = Picture("combs", "Yield by kind of comb, and what is usual for it",
                      _yields_say("comb", [(name(r["comb"]), r["yield"]) for r in drawn]), partial(yield_dots, dots))  # fmt: skip
    sentence = season_and_loss_sentences.combs(
        [(name(r["comb"]), r["yield"], r["low_share"], r["high_share"]) for r in rows]
    )
    key = (("wax", "yield, with its interval"), ("chance", "usual for the kind, by method and care"))
    method = (
        f"{YIELD} What is usual for a kind is a judgement from published figures, wide enough for all methods and care; the "
        f"table comb_kinds of the database names the source of each.{GUM}"
    )
    extra = tuple(_group_table(g, ask(warehouse, q), units) for g, q in (("method", "methods"), ("apiary", "places")))
    return Panel("combs", sentence, picture, _group_table("comb", rows, units), method=method, extra=extra,
                 queries=shown("combs", "methods", "places"), key=key, about="yields by comb")  # fmt: skip


def _group_table(group: str, rows: Sequence[Row], units: Units) -> Table:
    heads = (
        TableColumn(group, figures=False),
        TableColumn("sessions"),
        TableColumn(units.head("comb")),
        TableColumn(units.head("wax")),
        TableColumn("yield, %"),
        TableColumn("±, %"),
    )
    cells = tuple(
        (name(r[group]), count(r["sessions"]), units.mass_cell(r["loaded_g"]), units.mass_cell(r["wax_g"]),
         _starred(r, units), units.spread_cell(r["u"]))
        for r in rows[:MOST]
    )  # fmt: skip
    more = f"and {count(len(rows) - MOST)} more: combtally yields --by {group}" if len(rows) > MOST else ""
    return Table(f"Yield by {group}", heads, cells, more)


def _dot(name: str, value: Any, u: Any, beside: Any = None, usual: tuple[Any, Any] = (None, None)) -> YieldDot:
    low, high = (None, None) if u is None else (max(value - u, 0.0), value + u)
    return YieldDot(name, value, low, high, beside, usual[0], usual[1])


def _yields_say(group: str, rows: Sequence[tuple[str, Any]]) -> str:
    return f"Dots, one for each {group}: " + "; ".join(f"{visible(n)} {share(v)}" for n, v in rows) + "."


def _starred(row: Row, units: Units) -> str:
    return _star(units.share_cell(row["yield"]), row["flags"] or ())


def _star(cell: str, flags: Sequence[str]) -> str:
    """A yield with a mark where it counts wax set aside at full weight."""
    return f"{cell}*" if "set_aside" in flags else cell
