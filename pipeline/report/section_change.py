"""What the change from season to season is made of: other comb, other methods, the rendering itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from pipeline.analyses.seasons_at_fixed_mix import Change, Seasons
from pipeline.report.charts_yields import changes
from pipeline.report.page_dataclasses import Panel, Picture, Table, TableColumn
from pipeline.wording import season_and_loss_sentences
from pipeline.wording.amounts import Units, points, share_cell
from pipeline.wording.visible_text import DASH, listed, name

SPLIT = (
    "A season’s yield changes because other comb was melted, and because the same kinds of comb gave more or less than before. "
    "The two parts are told apart kind by kind; they say where a change sits, not what caused it."
)
METHODS = " What other methods did is the average over all orders in which comb, methods and yields can have changed."
NORMAL = (
    " Normal variation is twice what sessions of one kind in one season differ from each other by themselves; a part inside it "
    "may be chance. A kind of comb that was melted in one of two seasons only cannot show a change of its own yield: that is "
    "borrowed from the other."
)
SOURCE = " Method: decomposition of rates (Kitagawa 1955{methods})."
SHOWN = 5
"""Changes drawn and listed, the latest."""


def panel(trend: Seasons | None, units: Units, claims: tuple[str, ...] = ()) -> Panel | None:
    """Each change with the verdict that the analysis gives; None where there are no two seasons to compare."""
    if trend is None or not trend.changes:
        return None
    shown = trend.changes[-SHOWN:]
    steps = [(c.after, c.mix, c.rate) for c in shown]
    said = "; ".join(
        f"{s}: comb {points(m, signed=True)}, rendering {points(r, signed=True)} points" for s, m, r in steps
    )
    picture = Picture("changes", "What each change of yield came from", said + ".", partial(changes, steps))
    others = _methods_changed(shown)
    source = SOURCE.format(methods="; Das Gupta 1993, Shapley" if others else "")
    method = SPLIT + (METHODS if others else "") + NORMAL + _borrowed(shown) + source
    by_method = [c for c in shown if season_and_loss_sentences.by_methods(c.split.method)]
    told = claims + tuple(season_and_loss_sentences.methods(c.after, c.rate, c.split.method, units) for c in by_method)
    return Panel("changes", season_and_loss_sentences.verdict(trend, units), picture, _table(shown), told, method,
                 extra=(_kinds(shown[-1]),),                 about="the changes")  # fmt: skip


def _methods_changed(shown: Sequence[Change]) -> bool:
    return any(points(c.split.method) != points(0.0) for c in shown)


def _borrowed(shown: Sequence[Change]) -> str:
    kinds = sorted({name(k) for c in shown for k in c.split.borrowed})
    return f" Borrowed here: {listed(kinds)}." if kinds else ""


def _table(shown: Sequence[Change]) -> Table:
    """The changes in points; what other methods did stands beside the rendering where any did."""
    with_methods = _methods_changed(shown)
    heads = ("to season", "all", "by comb", "by rendering", *(["of it other methods"] if with_methods else []))
    rows = []
    for c in shown:
        parts = (c.total, c.mix, c.rate, *([c.split.method] if with_methods else []))
        normal = DASH if c.rate_u is None else f"±{points(2 * c.rate_u)}"
        named = f"{c.before} to {c.after}".replace(" ", "\N{NO-BREAK SPACE}")
        rows.append((named, *(points(v, signed=True) for v in parts), normal))
    columns = tuple(TableColumn(head, figures=n > 0) for n, head in enumerate((*heads, "normal variation")))
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
    columns = tuple(TableColumn(head, figures=n > 0) for n, head in enumerate(heads))
    rows = tuple(
        (name(k.comb), share_cell(k.share_from), share_cell(k.share_to), points(k.mix, signed=True),
         DASH if k.borrowed else points(k.rate, signed=True))
        for k in change.split.kinds
    )  # fmt: skip
    total = ("all", share_cell(1.0), share_cell(1.0), points(change.mix, signed=True), points(change.rate, signed=True))
    return Table(f"The change to {change.after} by kind of comb, points", columns, rows, total=total)
