"""The latest sessions, one row each: where everything that was loaded went."""

from __future__ import annotations

from pipeline.database.connection import Warehouse
from pipeline.report.page_dataclasses import Panel, Table, TableColumn
from pipeline.report.page_queries import Row, ask, shown
from pipeline.wording import season_and_loss_sentences
from pipeline.wording.amounts import Units, plural, share_cell
from pipeline.wording.visible_text import name, visible


def sessions_panel(warehouse: Warehouse, units: Units) -> Panel | None:
    """The panel; None where there is no session."""
    rows = ask(warehouse, "latest_sessions")
    if not rows:
        return None
    words_of = ("loaded", "blocks", "wax on or aside", "residue", "unaccounted", "handling, casting")
    heads = [TableColumn(word, figures=False) for word in ("session", "date", "method", "comb")]
    heads += [*(TableColumn(units.head(word)) for word in words_of), TableColumn("yield, %")]
    cells = tuple(_session_cells(r, units) for r in rows)
    table = Table(
        f"Where the wax of the latest {'session' if len(rows) == 1 else plural(len(rows), 'session')} went",
        tuple(heads),
        cells,
    )
    method = (
        "Every row adds up: loaded = blocks + wax on or aside + residue + unaccounted + handling and casting. "
        "A session fed by wax alone has no yield."
    )
    last = rows[0]
    named = (visible(last["session"]), units.day(last["date"]), units.mass(last["loaded_g"]))
    sentence = season_and_loss_sentences.latest(*named, last["yield"])
    return Panel(
        "sessions", sentence, None, table, method=method, queries=shown("latest_sessions"), about="the latest sessions"
    )


def _session_cells(r: Row, units: Units) -> tuple[str, ...]:
    on = None if r["passed_on_g"] is None or r["set_aside_g"] is None else r["passed_on_g"] + r["set_aside_g"]
    masses = (r["loaded_g"], r["blocks_g"], on, r["residue_g"], r["unaccounted_g"], r["work_g"])
    named = (visible(r["session"]), units.day(r["date"]), visible(r["method"]), name(r["comb"]))
    return (*named, *map(units.mass_cell, masses), share_cell(r["yield"]))
