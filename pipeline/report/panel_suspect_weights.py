"""Which weights look mistyped: what the page says of them, worked out anew only when what it rests on has changed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import partial

from pipeline.answers import checks_and_suspects_agree, suspects
from pipeline.answers.suspects import Fit, Placed
from pipeline.contract.log_columns import LOGS
from pipeline.database.shipped_queries import queries
from pipeline.database.tables_a_query_reads import read_by, tables_behind
from pipeline.database.text_cache import KeptTexts, digest_of
from pipeline.flow import Loaded
from pipeline.report.charts_stock import balance
from pipeline.report.page_dataclasses import Panel, Picture, Table, TableColumn
from pipeline.wording import season_and_loss_sentences, suspect_sentences
from pipeline.wording.amounts import Units, count
from pipeline.wording.visible_text import visible

_SHOWN = 3
"""Odd steps, and warnings that no slip explains, that the page shows: the terminal has all of them."""
_LISTED = 8
"""Suspects in the table: the terminal has all of them."""
_AROUND = 9
"""Weighings around the first suspect that one picture can hold."""


@dataclass(frozen=True, slots=True)
class WeightsTold:
    """All that the page says of the weights: the sentence and its points, the table's rows, and the first suspect's place.

    ``around``: the weighings around that suspect by name, as weighed and as reconciled, g.
    """

    sentence: str
    points: list[str]
    rows: list[list[str]]
    more: str
    place: str
    around: list[tuple[str, float, float]]


def panel(loaded: Loaded, units: Units) -> Panel:
    """The panel on weights, from what was kept of it where the weighings are those that it was made from."""
    kept, key = KeptTexts(loaded.book.folder, "weights"), _key(loaded, units)
    text = kept.get(key) if key else None
    told = WeightsTold(**json.loads(text)) if text else _told(suspects.fit(loaded, suspects.LATEST), units)
    if key and not text and loaded.origin and loaded.origin.holds():  # else it may be of other logs than were hashed
        kept.put(key, json.dumps(asdict(told)))
        kept.keep_only([key])
    return _panel(told, units)


def of(fit: Fit, units: Units) -> Panel:
    """The panel on weights, worked out."""
    return _panel(_told(fit, units), units)


def _key(loaded: Loaded, units: Units) -> str | None:
    """A digest of all that the weights are judged by; None where it is not known."""
    if loaded.origin is None:
        return None
    logs = tables_behind(read_by(suspects.asked()), queries("models")) & LOGS.keys()
    files = {file.name for log, file in loaded.files.items() if log in logs}
    rests_on = [(what, value) for what, value in loaded.origin.origin if what in files or what not in _names(loaded)]
    warned = checks_and_suspects_agree.warned(loaded.findings)
    return digest_of(*map(repr, (rests_on, warned, loaded.left_out, units)))


def _names(loaded: Loaded) -> set[str]:
    return {file.name for file in loaded.files.values()}


def _told(fit: Fit, units: Units) -> WeightsTold:
    points = [season_and_loss_sentences.sentence(visible(p)) for p in suspect_sentences.beside(fit, units, _SHOWN)]
    if fit.sessions < fit.of:
        points.append(suspect_sentences.latest_sessions(fit.sessions, fit.of, units))
    named = fit.suspects
    more = f"and {count(len(named) - _LISTED)} more: combtally suspects" if len(named) > _LISTED else ""
    rows = [list(_cells(s, units)) for s in named[:_LISTED]]
    place = suspect_sentences.place(named[0]) if named else ""
    around = list(_around(named[0])) if named else []
    return WeightsTold(suspect_sentences.suspects(fit, units), points, rows, more, place, around)


def _cells(s: Placed, units: Units) -> tuple[str, ...]:
    likely = units.reading_cell(s.likely_g) if s.likely is None else visible(s.likely)
    chance = units.chance_cell(s.chance)
    return suspect_sentences.place(s), units.reading_cell(s.value_g), likely, visible(s.reason), chance


def _around(suspect: Placed) -> Iterator[tuple[str, float, float]]:
    for b in suspect.balance:
        if b.weighed_g is not None and b.likely_g is not None:
            yield b.name.replace(".csv line ", " "), b.weighed_g, b.likely_g


def _panel(told: WeightsTold, units: Units) -> Panel:
    if not told.rows:
        return Panel("suspects", told.sentence, points=tuple(told.points))
    heads = (
        TableColumn("where", figures=False),
        TableColumn(units.head("typed")),
        TableColumn(units.head("likely")),
        TableColumn("why", figures=False, sentences=True),
        TableColumn("chance, %"),
    )
    table = Table("Weights that do not fit", heads, tuple(map(tuple, told.rows)), told.more)
    picture = _picture(told, units)
    key = _COLOURS if picture else ()
    return Panel("suspects", told.sentence, picture, table, tuple(told.points), _METHOD, key=key, about="suspects")


_METHOD = (
    "What goes into a step should come out of it. All weights that touch are balanced against each other; where they cannot "
    "be, every way in which people slip is tried, alone and in pairs, and those that mend the most come first. A weight that "
    "nothing else checks cannot be tested. Nothing is corrected by itself: change the log if it is wrong. "
    "Method: weighted least squares, chi-squared test, Bayes’ rule over the ways to slip."
)
_COLOURS = (
    ("wax", "as everything around it has it"),
    ("candle", "diamond: as weighed"),
    ("alarm", "as weighed, does not fit"),
)


def _picture(told: WeightsTold, units: Units) -> Picture | None:
    """The weighings of the session that the suspect stands in, as weighed and as reconciled."""
    # what was kept gives lists, and a drawing is known again by what it is drawn of
    rows = [(name, weighed_g, likely_g) for name, weighed_g, likely_g in told.around[:_AROUND]]
    if len(rows) < 2:
        return None
    said = "; ".join(f"{visible(n)}: weighed {units.reading(w)}, reconciled {units.reading(r)}" for n, w, r in rows)
    title = f"The weighings around {told.place}, as weighed and as reconciled"
    return Picture("balance", title, said + ".", partial(balance, rows, units))
