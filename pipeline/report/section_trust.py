"""What should I look at, and what is this page made of: findings, suspects, what was left out, files and versions."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence
from importlib.metadata import version

from pipeline.answers.cautions_due import Care, care
from pipeline.contract.findings import Finding, Severity
from pipeline.database.findings_and_origin_tables import LeftOut
from pipeline.flow import Loaded
from pipeline.report.page_dataclasses import Panel, Section, Table, TableColumn
from pipeline.wording import cautions_due_sentences, season_and_loss_sentences
from pipeline.wording.amounts import Units, count, plural
from pipeline.wording.visible_text import visible

LISTED = {Severity.ERROR: 12, Severity.WARNING: 12, Severity.NOTE: 5}
_ORDER = (Severity.ERROR, Severity.WARNING, Severity.NOTE)


def attention(loaded: Loaded, weights: Panel) -> Section:
    """The section on what does not fit, most important first: the panel of ``weights``, the checks, and cautions."""
    panels = (weights, _findings_panel(loaded.findings), _care_panel(care(loaded)))
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
    sentence = season_and_loss_sentences.attention(*(n[s] for s in _ORDER))
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
