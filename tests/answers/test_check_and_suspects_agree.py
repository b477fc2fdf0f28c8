"""``check`` and ``suspects`` never contradict each other: random books with weights changed at random.

Each row that a weighing rule of ``check`` warns of is named by ``suspects``, stands in one session, block or harvest with
something that it names, or is told as unexplained or usual; and nothing is said to fit where ``check`` warns of a weight.
``LOOK_HARDER=50`` looks at more books.
"""

from __future__ import annotations

import tempfile
from datetime import date
from fractions import Fraction
from pathlib import Path
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from pipeline.analyses.suspects import Suspect
from pipeline.answers import suspects
from pipeline.answers.checks_and_suspects_agree import warned
from pipeline.contract.findings import Finding, Severity, log_name
from pipeline.flow import load
from pipeline.wording import suspect_sentences
from pipeline.wording.amounts import Units
from tests.books import TODAY
from tests.strategies import books, looking, made_book, write_book

MASSES = {"harvests": ("mass_g",), "loads": ("mass_g",), "passes": ("mass_in_g", "wax_out_g"), "blocks": ("mass_g",), "draws": ("mass_g",)}
KEYS = {"session": "passes", "block": "blocks", "harvest": "harvests"}

USUAL = "What check warns of is within what such steps usually lose: no single weight stands out."


def weights(logs: dict) -> list[tuple[dict, str]]:
    return [(r, c) for log, columns in MASSES.items() for r in logs.get(log, []) for c in columns if r.get(c)]


@given(books(), st.randoms(use_true_random=False), st.integers(0, 3))
@looking(2)
def test_check_and_suspects_never_contradict_each_other(book, rng: Random, slips: int) -> None:
    for row, column in rng.sample(weights(book.logs), min(slips, len(weights(book.logs)))):
        row[column] *= rng.choice((Fraction(10), Fraction(1, 10), Fraction("0.45359237"), Fraction(4, 3)))
    with tempfile.TemporaryDirectory() as room:
        loaded = load(write_book(book, Path(room) / "b"), date.fromisoformat(TODAY))
        if any(f.severity is Severity.ERROR for f in loaded.findings):
            return
        fit = suspects.fit(loaded)
        told = list(suspect_sentences.each(fit, Units.of(loaded.book)))
    of_mass = warned(loaded.findings)
    assert not (of_mass and any("no weight looks mistyped" in text for text in told)), told
    otherwise = [*(left.finding for left in fit.unexplained.alone), *fit.unexplained.usually]
    named = {name for s in fit.verdict.suspects for name in named_by(s, book.logs)} | {("session", o.balance.session) for o in fit.verdict.odd_steps}
    for finding in of_mass:
        assert finding in otherwise or beside(finding, book.logs) & named, (finding, told)


def test_a_usual_difference_is_not_said_to_fit() -> None:
    """Such a book, found by looking harder: ``check`` warns of a difference that this book usually shows."""
    with tempfile.TemporaryDirectory() as room:
        loaded = load(write_book(made_book(Random(0)), Path(room) / "b"), date.fromisoformat(TODAY))
        fit = suspects.fit(loaded)
    assert (fit.suspects, fit.unexplained.alone, len(fit.unexplained.usually), fit.unexplained.warned) == ((), (), 1, 1)
    assert suspect_sentences.suspects(fit, Units.of(loaded.book)) == USUAL



def ids(log: str, row: dict, logs: dict) -> set[tuple[str, str]]:
    """The sessions, blocks and harvests that a row is of: kind and name."""
    found = {(kind, row[kind]) for kind in KEYS if row.get(kind)}
    if log == "loads":
        kind, _, name = row["source"].rpartition(" ")
        found |= {(k, name) for k, of in KEYS.items() if kind in ("", k) and any(r[k] == name for r in logs.get(of, []))}
    return found


def beside(finding: Finding, logs: dict) -> set[tuple[str, str]]:
    """What the row warned of is of, and what stands in one session, block or harvest with it; of the whole shelf, every block."""
    if not finding.line:
        return {name for row in logs["blocks"] for name in ids("blocks", row, logs)}
    log = log_name(finding.log)
    own = ids(log, logs[log][finding.line - 2], logs)
    return own.union(*(mine for log in MASSES for row in logs.get(log, []) if (mine := ids(log, row, logs)) & own))


def named_by(suspect: Suspect, logs: dict) -> set[tuple[str, str]]:
    """What the weights that a suspect names are of, and the session in which it shows."""
    rows = {(suspect.log, suspect.row), *((w.log, w.row) for w in suspect.among)}
    found = {name for log, row in rows if row for name in ids(log, logs[log][row - 1], logs)}
    return found | ({("session", suspect.session)} if suspect.session else set())
