"""What the change from season to season is made of: other comb, other methods, the rendering itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from pipeline.analyses.season_changes import Change, Seasons
from pipeline.report.charts_yields import changes
from pipeline.report.page_data import Column, Panel, Picture, Table
from pipeline.wording import season_sentences
from pipeline.wording.amounts import points, share_cell
from pipeline.wording.visible_text import DASH, name

SPLIT = (
    "Each change is split into the comb having been another (mix) and the rendering having been another (rate), "
    "after Kitagawa 1955: it says where the change sits, not what caused it."
)
METHODS = (
    " What other methods did to it is averaged over all orders in which comb, methods and yields can have changed "
    "(Shapley; Das Gupta 1993)."
)
SHOWN = 5
"""Changes drawn and listed, the latest."""


def panel(trend: Seasons | None) -> Panel | None:
    """Each change with the verdict that the analysis gives; None where there are no two seasons to compare."""
    if trend is None or not trend.changes:
        return None
    shown = trend.changes[-SHOWN:]
    steps = [(c.after, c.mix, c.rate) for c in shown]
    said = "; ".join(
        f"{s}: comb {points(m, signed=True)}, rendering {points(r, signed=True)} points" for s, m, r in steps
    )
    picture = Picture("changes", "What each change of yield came from", said + ".", partial(changes, steps))
    method = SPLIT + (METHODS if _methods_changed(shown) else "") + _borrowed(shown)
    by_method = [c for c in shown if season_sentences.by_methods(c.split.method)]
    told = tuple(season_sentences.methods(c.after, c.rate, c.split.method) for c in by_method)
    return Panel("changes", trend.verdict, picture, _table(shown), told, method, extra=(_kinds(shown[-1]),),
                 about="the changes")  # fmt: skip


def _methods_changed(shown: Sequence[Change]) -> bool:
    return any(points(c.split.method) != points(0.0) for c in shown)


def _borrowed(shown: Sequence[Change]) -> str:
    kinds = sorted({name(k) for c in shown for k in c.split.borrowed})
    return f" Not rendered in both seasons, so with a yield borrowed: {', '.join(kinds)}." if kinds else ""


def _table(shown: Sequence[Change]) -> Table:
    """The changes in points; what other methods did stands beside the rendering where any did."""
    with_methods = _methods_changed(shown)
    heads = ("to season", "all", "by comb", "by rendering", *(["of it other methods"] if with_methods else []))
    rows = []
    for c in shown:
        parts = (c.total, c.mix, c.rate, *([c.split.method] if with_methods else []))
        scatter = DASH if c.rate_u is None else f"±{points(2 * c.rate_u)}"
        named = f"{c.before} to {c.after}".replace(" ", "\N{NO-BREAK SPACE}")
        rows.append((named, *(points(v, signed=True) for v in parts), scatter))
    columns = tuple(Column(head, figures=n > 0) for n, head in enumerate((*heads, "usual scatter")))
    return Table("Changes in points of yield", columns, tuple(rows))


def _kinds(change: Change) -> Table:
    """The latest change kind by kind: what it was of the comb, and what it moved by there being more or less of it."""
    heads = (
        "comb",
        f"of the comb {change.before}, %",
        f"of the comb {change.after}, %",
        "by its share",
        "by its own yield",
    )
    columns = tuple(Column(head, figures=n > 0) for n, head in enumerate(heads))
    rows = tuple(
        (name(k.comb), share_cell(k.share_from), share_cell(k.share_to), points(k.mix, signed=True),
         DASH if k.borrowed else points(k.rate, signed=True))
        for k in change.split.kinds
    )  # fmt: skip
    total = ("all", share_cell(1.0), share_cell(1.0), points(change.mix, signed=True), points(change.rate, signed=True))
    return Table(f"The change to {change.after} by kind of comb, points", columns, rows, total=total)
