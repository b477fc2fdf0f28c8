"""What should I look at, and what is this page made of: findings, suspects, what was left out, files and versions."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence
from functools import partial
from importlib.metadata import version

from pipeline.answers.cautions_due import Care, care
from pipeline.answers.suspects import Fit, Placed
from pipeline.contract.findings import Finding, Severity
from pipeline.database.run_tables import LeftOut
from pipeline.flow import Loaded
from pipeline.report.charts_stock import balance
from pipeline.report.page_data import Panel, Picture, Section, Table, TableColumn
from pipeline.wording import cautions_due_sentences, season_sentences, suspect_sentences
from pipeline.wording.amounts import Units, count, plural
from pipeline.wording.visible_text import visible

_SHOWN = 3
"""Odd steps, and warnings that no slip explains, that the page shows: the terminal has all of them."""
LISTED = {Severity.ERROR: 12, Severity.WARNING: 12, Severity.NOTE: 5}
_ORDER = (Severity.ERROR, Severity.WARNING, Severity.NOTE)


def attention(loaded: Loaded, units: Units, fit: Fit) -> Section:
    """The section on what does not fit, most important first."""
    panels = (_suspects_panel(fit, units), _findings_panel(loaded.findings), _care_panel(care(loaded)))
    return Section("look", "What should I look at?", tuple(p for p in panels if p))


def _care_panel(found: list[Care]) -> Panel | None:
    if not found:
        return None
    points = tuple(visible(cautions_due_sentences.point(c)) for c in found)
    return Panel(
        "care",
        cautions_due_sentences.sentence(found),
        points=points,
        method=cautions_due_sentences.METHOD,
        about="cautions",
    )


def _findings_panel(findings: Sequence[Finding]) -> Panel:
    n = Counter(f.severity for f in findings)
    sentence = season_sentences.attention(*(n[s] for s in _ORDER))
    if not findings:
        return Panel("findings", sentence)
    chosen = [f for s in _ORDER for f in [x for x in findings if x.severity is s][: LISTED[s]]]
    heads = (
        TableColumn("where", figures=False),
        TableColumn("severity", figures=False),
        TableColumn("what, and what to do", figures=False, sentences=True),
    )
    cells = tuple(
        (visible(f.place), str(f.severity), visible(f"{f.message}; {f.fix}" if f.fix else f.message)) for f in chosen
    )
    more = (
        f"and {count(len(findings) - len(chosen))} more: combtally check lists them all"
        if len(findings) > len(chosen)
        else ""
    )
    method = (
        "Every row is checked by itself, then against the other logs. An error cannot be read or linked, and its row stays out "
        "of every figure; a warning does not fit what stands elsewhere; a note is small enough for the scale to explain, or only "
        "worth knowing. A check cannot find a wrong weight that happens to fit. combtally check lists all of them."
    )
    return Panel(
        "findings",
        sentence,
        None,
        Table("What the checks found", heads, cells, more),
        method=method,
        about="the checks",
    )


def _suspects_panel(fit: Fit, units: Units) -> Panel:
    points = tuple(season_sentences.sentence(visible(p)) for p in suspect_sentences.beside(fit, units, _SHOWN))
    if fit.sessions < fit.of:
        points += (suspect_sentences.latest_sessions(fit.sessions, fit.of, units),)
    sentence = suspect_sentences.suspects(fit, units)
    if not fit.suspects:
        return Panel("suspects", sentence, points=points)
    first = fit.suspects[0]
    masses = (TableColumn(units.head("typed")), TableColumn(units.head("likely")))
    heads = (
        TableColumn("where", figures=False),
        *masses,
        TableColumn("why", figures=False, sentences=True),
        TableColumn("chance, %"),
    )
    cells = tuple(
        (
            suspect_sentences.place(s),
            units.reading_cell(s.value_g),
            units.reading_cell(s.likely_g) if s.likely is None else visible(s.likely),
            visible(s.reason),
            units.chance_cell(s.chance),
        )
        for s in fit.suspects[:8]
    )
    more = f"and {count(len(fit.suspects) - 8)} more: combtally suspects" if len(fit.suspects) > 8 else ""
    method = (
        "What goes into a step should come out of it. All weights that touch are balanced against each other; where they cannot "
        "be, every way in which people slip is tried, alone and in pairs, and those that mend the most come first. A weight that "
        "nothing else checks cannot be tested. Nothing is corrected by itself: change the log if it is wrong. "
        "Method: weighted least squares, chi-squared test, Bayes’ rule over the ways to slip."
    )
    key = (
        ("wax", "as everything around it has it"),
        ("candle", "diamond: as weighed"),
        ("alarm", "as weighed, does not fit"),
    )
    table = Table("Weights that do not fit", heads, cells, more)
    picture = _balance_picture(first, units)
    return Panel(
        "suspects",
        sentence,
        picture,
        table,
        points,
        method,
        key=key if picture else (),
        about="suspects",
    )


def _balance_picture(suspect: Placed, units: Units) -> Picture | None:
    """The weighings of the session that the suspect stands in, as weighed and as reconciled."""
    told = [(b.name, b.weighed_g, b.likely_g) for b in suspect.balance]
    rows = [(n.replace(".csv line ", " "), w, r) for n, w, r in told if w is not None and r is not None][:9]
    if len(rows) < 2:
        return None
    said = "; ".join(f"{visible(n)}: weighed {units.reading(w)}, reconciled {units.reading(r)}" for n, w, r in rows)
    title = f"The weighings around {suspect_sentences.place(suspect)}, as weighed and as reconciled"
    return Picture("balance", title, said + ".", partial(balance, rows, units))


def left_out_words(left_out: Sequence[LeftOut], units: Units) -> str:
    """What stays out of every figure: rows and mass by log; empty where nothing does."""
    parts = [
        f"{plural(entry.rows, 'row')} of {entry.log}" + (f" ({units.mass(entry.mass_g)})" if entry.mass_g else "")
        for entry in left_out
    ]
    verb = "is" if sum(entry.rows for entry in left_out) == 1 else "are"
    return f"{', '.join(parts)} cannot be used and {verb} in no figure; combtally check says why." if parts else ""


def provenance(loaded: Loaded, units: Units, made_by: str) -> Section:
    """What the page is made of: files with their hashes, versions, what was left out."""
    hashes = loaded.hashes()
    rows = {file: loaded.rows.get(log, 0) for log, file in loaded.run.files.items()}
    heads = (
        TableColumn("file", figures=False),
        TableColumn("rows"),
        TableColumn("SHA-256, first 16 digits", figures=False),
    )
    cells = tuple((visible(name), count(rows.get(name)), digest[:16]) for name, digest in hashes.items())
    left = left_out_words(loaded.left_out, units)
    sentence = (
        f"Made for {units.day(loaded.today)} from {plural(len(hashes), 'file')} with {plural(sum(loaded.rows.values()), 'row')}; "
        + ("some rows were left out." if left else "nothing was left out.")
    )
    method = (
        f"combtally {made_by}, {_libraries()}. The same files and the same day give the same page, byte for byte. "
        "sha256sum FILE at a prompt gives the digits above if a file is unchanged. The queries on this page run on the "
        "book’s database, combtally.duckdb."
    )
    points = (left[:1].upper() + left[1:],) if left else ()
    return Section("made", "How was this page made?", (
        Panel("files", sentence, None, Table("The files it was made from", heads, cells), points, method, about="versions"),
    ))  # fmt: skip


def _libraries() -> str:
    python = f"Python {sys.version_info.major}.{sys.version_info.minor}"
    return ", ".join([python, *(f"{name} {version(name)}" for name in ("duckdb", "altair", "pandas"))])
